"""The worker that needs no broker: the same work as Celery's, in one loop."""

import logging
import signal
import threading
import time
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import close_old_connections

from shop import clock, tasks

log = logging.getLogger(__name__)
# A nap is never longer, so that a night's sleep of the machine is noticed.
LONGEST_NAP = 5.0


@dataclass
class Chore:
    """Something to do every so many seconds, or (`every` is None) once a day after an hour."""

    work: Callable[[], None]
    every: float | None
    next_at: float = 0.0
    done_on: date | None = None

    def is_due(self, now: datetime) -> bool:
        """Tell whether to do it now; what was missed meanwhile is done once."""
        if self.every is not None:
            return time.monotonic() >= self.next_at
        return self.done_on != now.date() and now.hour >= settings.REJUDGE_UTC_HOUR

    def done(self, now: datetime) -> None:
        """Note that it was done, or tried."""
        self.next_at = time.monotonic() + (self.every or 0.0)
        self.done_on = now.date()


class Command(BaseCommand):
    """Do the waiting work again and again until SIGTERM or Ctrl-C, then finish the one in hand."""

    help = "Send what waits, remind of what is due and judge at night, without a broker."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take `--once`, for a machine that starts it from a timer of its own."""
        parser.add_argument("--once", action="store_true", help="do each kind of work once")

    def handle(self, *args: str, once: bool, **options: object) -> None:
        """Work until told to stop."""
        chores = [
            Chore(tasks.due_tick, settings.DUE_TICK_SECONDS),
            Chore(tasks.deliver_waiting, settings.DELIVER_SECONDS),
            Chore(tasks.judge_by_new_limits, settings.DUE_TICK_SECONDS),
            Chore(tasks.rejudge_nightly, None),
            Chore(tasks.sweep_photos, None),
        ]
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
        log.info("The worker is at work.")
        while not stop.is_set():
            run_due(chores, stop)
            if once:
                return
            stop.wait(LONGEST_NAP)


def run_due(chores: Sequence[Chore], stop: threading.Event) -> None:
    """Do each chore whose time has come; one that fails is logged and does not stop the others."""
    for chore in chores:
        if stop.is_set() or not chore.is_due(clock.now()):
            continue
        close_old_connections()
        try:
            chore.work()
        except Exception:
            log.exception("This round failed, the next one tries again.")
        chore.done(clock.now())
