"""Re-verifications: opened, told anew, shortened and withdrawn, each with its line in the log."""

from collections.abc import Sequence
from datetime import date

from installs.models import Reverification, Verification
from vehicles.models import Vehicle
from vehicles.records import Actor, record_event


def ask_for_proof(
    vehicle: Vehicle,
    sentences: list[str],
    *,
    cause: str,
    against: Verification | None,
    pending: Reverification | None,
    today: date,
    actor: Actor,
    told: Sequence[str] = (),
) -> int:
    """Open a re-verification, or bring the open one up to date; 1 where one was opened.

    Where something is to be told that the customer has not heard yet, the open one gives way to a
    new one: what is due from it is new then, and goes into the next digest. `told` are those of
    the sentences that a person reported.
    """
    opened_on = today
    if pending is not None:
        if pending.differences == sentences:
            return 0
        if set(sentences) <= set(pending.differences):
            _shorten(pending, sentences, actor)
            return 0
        told, opened_on = told or pending.told, pending.opened_on
        cause = pending.cause if pending.told else cause
        withdraw(pending, today, actor, "More has changed since; it is told anew.")
    opened = Reverification.objects.create(
        vehicle=vehicle,
        cause=cause,
        differences=sentences,
        told=list(told),
        against=against,
        opened_on=opened_on,
    )
    record_event(
        actor=actor,
        verb="asked for proof",
        subject=opened,
        after={"differences": sentences},
        why=opened.get_cause_display(),
        vehicle_id=vehicle.pk,
    )
    return 1


def _shorten(pending: Reverification, sentences: list[str], actor: Actor) -> None:
    """Take out of an open re-verification what no longer differs."""
    Reverification.objects.filter(pk=pending.pk).update(differences=sentences)
    record_event(
        actor=actor,
        verb="brought up to date",
        subject=pending,
        before={"differences": pending.differences},
        after={"differences": sentences},
        vehicle_id=pending.vehicle_id,
    )


def withdraw(pending: Reverification, today: date, actor: Actor, why: str) -> None:
    Reverification.objects.filter(pk=pending.pk).update(
        state=Reverification.State.WITHDRAWN, closed_on=today
    )
    record_event(
        actor=actor,
        verb="withdrew",
        subject=pending,
        after={"state": Reverification.State.WITHDRAWN},
        why=why,
        vehicle_id=pending.vehicle_id,
    )
