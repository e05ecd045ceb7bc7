"""A changed limit reaches every vehicle: some are judged at once, the rest by the worker.

A standing says by which newest limit it was judged, so whoever is interrupted goes on where the
others stopped, and the page can say how many still wait.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import Case, Value, When

from installs.domain.findings import Finding
from installs.domain.reckoned import JUDGED_BY
from installs.models import Reverification, Standing
from installs.reads import sheets_of
from installs.services.judging import judged
from installs.services.proof import latest_proofs
from shop.celery import wake
from shop.changes import settle
from vehicles import limits
from vehicles.models import LimitVersion, Vehicle
from vehicles.records import PULLPIN, Actor

# Judged while the owner waits, and looked at for a preview: about a second of work each.
AT_ONCE = 60
PREVIEWED = 40
# A transaction of the worker holds the desk up no longer than this many take.
CHUNK = 100
TASK = "shop.tasks.judge_by_new_limits"


@dataclass(frozen=True)
class Preview:
    """What another value would change: of how many vehicles that were looked at, and of how many.

    `reaches` is False for a limit that no finding hangs on; nothing was looked at then.
    """

    reaches: bool
    fitted: int = 0
    looked: int = 0
    changed: int = 0
    newly_blocked: int = 0
    examples: tuple[Vehicle, ...] = ()


@transaction.atomic
def set_limit(*, code: str, today: date, actor: Actor, **fields: Any) -> LimitVersion:
    """Set a limit (see `vehicles.limits.set_limit`) and judge the first vehicles by it."""
    saved = limits.set_limit(code=code, actor=actor, **fields)
    if code in JUDGED_BY:
        settle_by_limits(today=today, actor=actor, most=AT_ONCE)
        transaction.on_commit(partial(wake, TASK))
    return saved


def waiting() -> int:
    """Return how many vehicles are still judged by older limits."""
    return _behind().count()


@transaction.atomic
def settle_by_limits(*, today: date, actor: Actor = PULLPIN, most: int = CHUNK) -> int:
    """Judge at most so many vehicles by the newest limits, proven ones first; return how many."""
    ids = list(_behind().order_by(_PROVEN_FIRST, "pk").values_list("vehicle", flat=True)[:most])
    settle(vehicle_ids=ids, cause=Reverification.Cause.LIMIT, today=today, actor=actor)
    return len(ids)


def run_by_limits(*, today: date) -> int:
    """Judge every vehicle that waits, each chunk in a transaction of its own; return how many."""
    done = 0
    while found := settle_by_limits(today=today):
        done += found
    return done


_PROVEN_FIRST = Case(When(proof=Standing.Proof.GOOD, then=Value(0)), default=Value(1))


def _behind() -> Any:
    newest = LimitVersion.objects.newest(JUDGED_BY)
    return Standing.objects.filter(limits__lt=newest, vehicle__kind=Vehicle.Kind.TOWED)


def preview(code: str, content: Mapping[str, Any]) -> Preview:
    """Try another value on a bounded number of vehicles, proven ones first; nothing is written.

    Raises as `vehicles.domain.limit_set.checked` does.
    """
    now = LimitVersion.objects.in_force()
    then = now.with_value(code, content)
    if code not in JUDGED_BY:
        return Preview(reaches=False)
    fitted = Vehicle.objects.towed().filter(fittings__until__isnull=True, fittings__isnull=False)
    rows = fitted.distinct().select_related("model_range")
    proven_first = Case(When(standing__proof=Standing.Proof.GOOD, then=Value(0)), default=Value(1))
    looked = list(rows.annotate(first=proven_first).order_by("first", "pk")[:PREVIEWED])
    sheets, proofs = sheets_of(looked), latest_proofs([vehicle.pk for vehicle in looked])
    changed, blocked = [], 0
    for vehicle in looked:
        sheet, proof = sheets[vehicle.pk], proofs.get(vehicle.pk)
        before = _told(judged(sheet, limits=now, proof=proof).judgement.findings)
        after = _told(judged(sheet, limits=then, proof=proof).judgement.findings)
        if before != after:
            changed.append(vehicle)
            blocked += any(told[-1] for told in after - before)
    total = rows.count()
    return Preview(True, total, len(looked), len(changed), blocked, tuple(changed[:5]))


def _told(findings: tuple[Finding, ...]) -> set[tuple[str, str, str, bool]]:
    return {(f.code.value, f.component, f.port, f.blocking) for f in findings}
