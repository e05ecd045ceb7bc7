"""What workers run. Each task may run any number of times, at any time, in any number of places."""

from celery import shared_task

from shop.clock import now, shop_date
from shop.reminders.services import deliver_round, run_nightly, run_tick


@shared_task  # type: ignore[untyped-decorator]  # Celery tells no types
def due_tick() -> str:
    """Queue the digests of what has come due."""
    instant = now()
    return str(run_tick(now=instant, today=shop_date(instant)))


@shared_task  # type: ignore[untyped-decorator]  # Celery tells no types
def deliver_waiting() -> str:
    """Send what waits in the outbox."""
    return str(deliver_round(now=now()))


@shared_task  # type: ignore[untyped-decorator]  # Celery tells no types
def rejudge_nightly() -> str:
    """Judge every vehicle anew and bring all due items in line."""
    instant = now()
    return f"{run_nightly(now=instant, today=shop_date(instant))} to be proven again"
