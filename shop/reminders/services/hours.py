"""When mail may go out: the shop's sending hours on the recipient's clock."""

from datetime import datetime

from django.conf import settings

from shop.reminders.domain.quiet import LOWER_48, next_allowed


def sending_time(now: datetime, time_zone: str) -> datetime:
    """Return the first instant from `now` on at which a mail may reach this recipient.

    Who gave no time zone may be anywhere: for a shop in the lower 48 states all their clocks
    must agree, any other shop takes its own clock.
    """
    zone: str | None = time_zone
    if not zone:
        zone = None if settings.SHOP_TIME_ZONE in LOWER_48 else settings.SHOP_TIME_ZONE
    return next_allowed(now, zone, settings.MAIL_HOURS_FROM, settings.MAIL_HOURS_UNTIL)
