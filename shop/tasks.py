"""What runs outside a request. Losing a task loses nothing: the next one finds the same rows."""

from shop import clock
from shop.celery import app
from shop.nightly import rejudge_everything
from shop.outbox import services as outbox
from shop.reminders import services as reminders


@app.task
def due_tick() -> None:
    """Remind of what has fallen due."""
    reminders.run_tick(now=clock.now())


@app.task
def deliver_waiting() -> None:
    """Send the mails whose time has come."""
    outbox.deliver_waiting(now=clock.now(), recheck=reminders.recheck)


@app.task
def rejudge_nightly() -> None:
    """Judge every vehicle anew."""
    rejudge_everything(today=clock.today())
