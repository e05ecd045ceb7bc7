"""What runs outside a request. Losing a task loses nothing: the next one finds the same rows."""

from installs.services import photos
from shop import clock, limit_changes
from shop.celery import app
from shop.reminders import services as reminders


@app.task
def due_tick() -> None:
    """Remind of what has fallen due."""
    reminders.run_tick(now=clock.now(), today=clock.today())


@app.task
def deliver_waiting() -> None:
    """Send the mails whose time has come."""
    reminders.deliver_round(now=clock.now())


@app.task
def rejudge_nightly() -> None:
    """Judge every vehicle anew."""
    reminders.run_nightly(now=clock.now(), today=clock.today())


@app.task
def judge_by_new_limits() -> None:
    """Judge the vehicles that a changed limit has not reached yet."""
    limit_changes.run_by_limits(today=clock.today())


@app.task
def sweep_photos() -> None:
    """Delete files of photos that never came to be kept."""
    photos.sweep_photos(now=clock.now())
