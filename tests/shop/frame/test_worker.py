"""The worker without a broker: its rounds, its missed nights, and its end."""

import os
import signal
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import time_machine

from shop.management.commands.worker import Chore, run_due

ROOT = Path(__file__).resolve().parents[3]
EVENING = datetime(2026, 5, 4, 23, 0, tzinfo=UTC)
pytestmark = pytest.mark.django_db


def broken() -> None:
    raise RuntimeError("the disk is full")


def test_one_chore_that_fails_does_not_stop_the_next(caplog: pytest.LogCaptureFixture) -> None:
    done = []
    chores = [Chore(broken, 60), Chore(lambda: done.append(1), 60)]

    run_due(chores, threading.Event())

    assert done == [1]
    assert "the disk is full" in caplog.text


def test_a_chore_waits_its_seconds_also_after_a_failure() -> None:
    tries = []
    chore = Chore(lambda: tries.append(1) or broken(), 60)

    run_due([chore], threading.Event())
    run_due([chore], threading.Event())

    assert tries == [1]


def test_the_nightly_chore_is_done_once_a_day_and_made_up_for_after_a_sleep() -> None:
    done = []
    chore = Chore(lambda: done.append(1), None)

    # The judgement is due at 9 UTC; this machine sleeps at night and wakes at noon.
    for hours in (0, 1, 9, 13, 14, 23, 33, 37, 38):
        with time_machine.travel(EVENING + timedelta(hours=hours), tick=False):
            run_due([chore], threading.Event())

    # At once (it was past nine), on the 5th at noon, on the 6th at eight not, at noon yes.
    assert len(done) == 3


def test_a_worker_told_to_stop_begins_nothing_more() -> None:
    stop = threading.Event()
    done = []

    run_due([Chore(stop.set, 60), Chore(lambda: done.append(1), 60)], stop)

    assert done == []


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_the_real_worker_cleanly(tmp_path: Path, number: signal.Signals) -> None:
    environment = {"PATH": os.environ["PATH"], "PULLPIN_VAR": str(tmp_path)}
    manage = [sys.executable, "manage.py"]
    subprocess.run([*manage, "migrate", "-v0"], cwd=ROOT, env=environment, check=True)
    worker = subprocess.Popen(
        [*manage, "worker"], cwd=ROOT, env=environment, stderr=subprocess.PIPE, text=True
    )
    # The lines before it may tell of setting up the environment.
    at_work = any("The worker is at work." in line for line in worker.stderr)

    worker.send_signal(number)

    _, said = worker.communicate(timeout=60)
    assert at_work, said
    assert worker.returncode == 0, said
    assert "Traceback" not in said
