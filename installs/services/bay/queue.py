"""What a tablet sends after it was without a connection."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.bay.arrivals import MOST_AHEAD, in_turn
from installs.models import Arrival, Job
from vehicles.records import Actor

from .answering import answer_step

Outcome = Arrival.Outcome


def take_arrivals(
    *, job: Job, device: str, sent: Sequence[Mapping[str, Any]], now: datetime, actor: Actor
) -> list[Arrival]:
    """Keep what a device sent and apply all that is in turn; return the rows of what was sent.

    Each of `sent` has `id` (a UUID), `seq` (from 1 on, without gaps), `key`, `raw`, `at` (an
    instant) and `seen`. Sent twice or out of order they lead to the same record. Whoever is signed
    in sends them, and answers for them.
    """
    kept = []
    for item in sent:
        with transaction.atomic():
            kept.append(_keep(job, device, item, actor))
    while _apply_next(job, device, now, actor):
        pass
    rows = Arrival.objects.filter(pk__in=[arrival.pk for arrival in kept])
    return list(rows.order_by("seq"))


def _keep(job: Job, device: str, item: Mapping[str, Any], actor: Actor) -> Arrival:
    applied = _applied(job, device)
    if item["seq"] > applied + MOST_AHEAD:
        raise ValidationError("The tablet's numbering has a gap. Send what is before it first.")
    other = job.arrivals.filter(device=device, seq=item["seq"]).exclude(client_id=item["id"])
    if other.exists():
        raise ValidationError("This tablet's numbering was started anew. Reload the page.")
    arrival, _ = Arrival.objects.get_or_create(
        client_id=item["id"],
        defaults={
            "job": job,
            "device": device,
            "seq": item["seq"],
            "payload": {name: item[name] for name in ("key", "raw", "at", "seen")},
            "by": actor.name,
            "by_id": actor.id,
        },
    )
    return arrival


def _applied(job: Job, device: str) -> int:
    """Return the highest number up to which everything of the device is dealt with."""
    last = job.arrivals.filter(device=device).exclude(outcome=Outcome.WAITING).order_by("-seq")
    return last.values_list("seq", flat=True).first() or 0


@transaction.atomic
def _apply_next(job: Job, device: str, now: datetime, actor: Actor) -> bool:
    """Apply the next one in turn, if there is one; each in a transaction of its own."""
    # The job's row is the lock: two requests of one device must not apply the same one.
    Job.objects.select_for_update().get(pk=job.pk)
    rows = job.arrivals.filter(device=device, outcome=Outcome.WAITING)
    turn = in_turn({row.seq: row for row in rows}, _applied(job, device))
    if not turn:
        return False
    arrival = turn[0]
    told: list[str] = []
    try:
        with transaction.atomic():
            answer_step(
                job=job,
                key=arrival.payload["key"],
                raw=arrival.payload["raw"],
                client_id=arrival.client_id,
                at=_instant(arrival.payload["at"], now),
                actor=Actor(arrival.by, arrival.by_id),
                seen=arrival.payload["seen"],
                device=device,
            )
    except ValidationError as error:
        told = list(error.messages)
    outcome = Outcome.REFUSED if told else Outcome.TAKEN
    Arrival.objects.filter(pk=arrival.pk).update(outcome=outcome, told=told)
    return True


def _instant(text: str, now: datetime) -> datetime:
    """Read the tablet's instant; one that lies ahead of ours is a wrong clock and counts as now."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return now
    return min(at, now) if at.tzinfo else now
