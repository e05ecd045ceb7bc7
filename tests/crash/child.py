"""A worker process of its own for the crash tests. The parent says where it is to die.

Usage: python child.py WORK [JSON]. The points of death are put in from here, never in the product:
functions are wrapped so that SIGKILL comes just before or after them.
"""

import json
import os
import secrets
import signal
import smtplib
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

import django

django.setup()

from django.core.management import call_command  # noqa: E402 -- after the set-up

from shop.outbox.models import OutgoingMail  # noqa: E402 -- after the set-up
from shop.outbox.services import Letter, delivery, queue_mail  # noqa: E402 -- after the set-up
from shop.reminders.models import DueItem, Reminder, ServiceRule  # noqa: E402 -- after the set-up
from shop.reminders.services import deliver_round, run_tick, tick  # noqa: E402 -- after the set-up
from tests.factories.installs import ComponentFactory  # noqa: E402 -- after the set-up
from tests.factories.reminders import RuleFactory, a_case  # noqa: E402 -- after the set-up

NOW = datetime(2026, 3, 2, 17, tzinfo=UTC)


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def dying(work: Callable[..., Any], *, when: str) -> Callable[..., Any]:
    """Return `work` with death before or after it."""

    def wrapped(*args: Any, **kwargs: Any) -> Any:
        if when == "before":
            die()
        result = work(*args, **kwargs)
        die()
        return result

    return wrapped


def dying_while_sending(self: smtplib.SMTP, text: bytes | str) -> None:
    """Send the first half of whatever is as long as a message, then die."""
    raw = text.encode() if isinstance(text, str) else text
    assert self.sock is not None
    if len(raw) > 300:
        self.sock.sendall(raw[: len(raw) // 2])
        die()
    self.sock.sendall(raw)


def put_in_death(point: str) -> None:
    when, _, what = point.partition(" ")
    if what in {"claim_mail", "mark_sent"}:
        setattr(delivery, what, dying(getattr(delivery, what), when=when))
    elif point == "amid the message":
        smtplib.SMTP.send = dying_while_sending  # type: ignore[method-assign, assignment]
    elif what in {"queue_mails", "Heartbeat"}:
        target = tick if what == "queue_mails" else tick.Heartbeat.objects
        name = "queue_mails" if what == "queue_mails" else "update_or_create"
        setattr(target, name, dying(getattr(target, name), when=when))


def wait_for_the_start() -> None:
    print("ready", flush=True)
    sys.stdin.readline()


def queue(told: dict[str, Any]) -> None:
    queue_mail(
        Letter(
            key=told["key"],
            kind="note",
            to_address="wren@mail.example",
            subject="Hello",
            text="A long letter. " * 100,
            not_before=NOW,
            after_crash=told["after_crash"],
        )
    )


def deliver(told: dict[str, Any]) -> None:
    put_in_death(told.get("die", ""))
    if told.get("wait"):
        wait_for_the_start()
    for minutes in told["after_minutes"]:
        deliver_round(now=NOW + timedelta(minutes=minutes))


def make_due(told: dict[str, Any]) -> None:
    # Another child numbered its parts from 0 as well.
    ComponentFactory.reset_sequence(secrets.randbelow(10**9))
    if not ServiceRule.objects.exists():
        RuleFactory()
    for n in range(told["customers"]):
        a_case(email=f"{told['key']}-{n}@mail.example").refresh(NOW.date())


def say(told: dict[str, Any]) -> None:
    put_in_death(told.get("die", ""))
    if told.get("wait"):
        wait_for_the_start()
    report = run_tick(now=NOW, today=NOW.date(), batch=told.get("batch", 500))
    print(json.dumps({"digests": report.digests, "failed": report.failed}))


def tell(told: dict[str, Any]) -> None:
    """Print what the database holds of the mails whose key or address begins as told."""
    mails = OutgoingMail.objects.filter(key__startswith=told["key"]) | OutgoingMail.objects.filter(
        to_address__startswith=told["key"]
    )
    columns = ("message_id", "state", "crashes")
    print(
        json.dumps(
            {
                "mails": list(mails.values(*columns)),
                "ledger": Reminder.objects.filter(mail__in=mails).count(),
                "unsaid": DueItem.objects.to_be_said(NOW.date()).count(),
            }
        )
    )


def migrate(told: dict[str, Any]) -> None:
    call_command("migrate", verbosity=0)


WORK = {work.__name__: work for work in (queue, deliver, make_due, say, tell, migrate)}

if __name__ == "__main__":
    for step in json.loads(sys.argv[1]):
        WORK[step.pop("work")](step)
