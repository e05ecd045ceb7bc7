"""Celery: it only wakes work that the database already holds, so losing all of it loses nothing.

The package does not import this module on its own: a page or a calculation needs no Celery.
`celery -A shop` finds `app` here.
"""

import logging
import os

from celery import Celery
from celery.schedules import crontab
from django.conf import settings
from kombu.exceptions import OperationalError

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

app = Celery("shop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.include = ["shop.tasks"]
app.conf.beat_schedule = {
    "due-tick": {"task": "shop.tasks.due_tick", "schedule": settings.DUE_TICK_SECONDS},
    "limits": {
        "task": "shop.tasks.judge_by_new_limits",
        "schedule": settings.DUE_TICK_SECONDS,
    },
    "deliver": {"task": "shop.tasks.deliver_waiting", "schedule": settings.DELIVER_SECONDS},
    "rejudge": {
        "task": "shop.tasks.rejudge_nightly",
        "schedule": crontab(hour=settings.REJUDGE_UTC_HOUR, minute=0),
    },
    "sweep": {
        "task": "shop.tasks.sweep_photos",
        "schedule": crontab(hour=settings.REJUDGE_UTC_HOUR, minute=40),
    },
}

log = logging.getLogger(__name__)


def wake(task: str) -> None:
    """Ask a worker to run `task` soon, if there is a broker; call it after the commit.

    Nothing depends on it. Without a broker, or with one that is down, the next beat or the
    next round of the worker command finds the same rows, so an error is logged and forgotten.
    """
    if not settings.REDIS_URL:
        return
    try:
        app.send_task(task, retry=False, ignore_result=True)
    except OperationalError as error:
        log.warning("%s was not woken, the next round will find its work: %s", task, error)
