"""The only place that reads the clock. Edges call it; everything below takes `now` or `today`."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone


def now() -> datetime:
    """Return this instant, in UTC."""
    return timezone.now()


def today() -> date:
    """Return the date on the shop's wall: at 23:30 in Denver it is not tomorrow yet."""
    return shop_date(now())


def shop_date(instant: datetime) -> date:
    """Return the shop's local date of an aware instant."""
    return instant.astimezone(ZoneInfo(settings.SHOP_TIME_ZONE)).date()
