"""Proof: noticing that it no longer holds, and withdrawing a doubt that fell away."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import OuterRef, Subquery

from installs.domain.basis import basis_of, differences
from installs.domain.needs import judge
from installs.domain.ownerwords import told_to_owner
from installs.domain.reckoned import JUDGED_BY
from installs.domain.sheet import Sheet
from installs.models import Reverification, Standing, Verification
from installs.reads import sheets_of
from installs.services.asking import ask_for_proof, withdraw
from installs.services.judging import Judged, Keys, kept, rejudged
from vehicles.domain.procedure import NOT_ALLOWED
from vehicles.models import LimitVersion, Vehicle
from vehicles.records import Actor

FORBIDDEN = "It must not be towed on its own wheels, so there is nothing to prove."
NEVER_PROVEN = "Nothing has been proven on this vehicle yet."
RISK_OF_SEVERITY = {"NOTICE": 1, "CAUTION": 2, "WARNING": 3, "DANGER": 4}


@transaction.atomic
def rejudge(*, vehicle_ids: Iterable[int], cause: str, today: date, actor: Actor) -> int:
    """Judge these towed vehicles anew, and raise or withdraw re-verifications where it matters.

    Returns how many were newly raised. A proof whose basis is unchanged stays good, whatever else
    was written; one whose basis came back (a change undone) is good again.
    """
    ids = list(vehicle_ids)
    # Two judgements of one vehicle at once would both open a re-verification.
    locked = Vehicle.objects.towed().filter(pk__in=ids).select_for_update(of=("self",))
    vehicles = list(locked.select_related("model_range").order_by("pk"))
    sheets = sheets_of(vehicles)
    proofs = latest_proofs(ids)
    open_ones = {r.vehicle_id: r for r in Reverification.objects.open().filter(vehicle__in=ids)}
    standings = {s.vehicle_id: s for s in Standing.objects.filter(vehicle__in=ids)}
    newest, limits = LimitVersion.objects.newest(JUDGED_BY), LimitVersion.objects.in_force()
    keys = Keys(limits)
    raised = 0
    for vehicle in vehicles:
        last, pending = proofs.get(vehicle.pk), open_ones.get(vehicle.pk)
        known = standings.get(vehicle.pk)
        now = rejudged(
            sheets[vehicle.pk], limits=limits, keys=keys, proof=last,
            kept=known.numbers if known else {},
        )  # fmt: skip
        state = _state(now, last, pending)
        raised += _bring_in_line(
            vehicle, now, last, pending, state=state, cause=cause, today=today, actor=actor
        )
        _keep_standing(vehicle, now, state, known, today, newest)
    return raised


def latest_proofs(ids: Sequence[int]) -> dict[int, Verification]:
    """Return the latest proof of each of these vehicles, by its id."""
    latest = (
        Verification.objects.filter(vehicle=OuterRef("vehicle")).order_by("-id").values("pk")[:1]
    )
    rows = Verification.objects.filter(vehicle__in=ids, pk=Subquery(latest))
    return {row.vehicle_id: row for row in rows}


def _state(now: Judged, last: Verification | None, pending: Reverification | None) -> str:
    if now.sheet.procedure.verdict == NOT_ALLOWED:
        return Standing.Proof.NOT_TOWED
    if not now.sheet.fittings:
        return Standing.Proof.NOTHING_FITTED
    if last is None:
        return Standing.Proof.NEVER
    doubted = pending is not None and bool(pending.told)
    if last.fingerprint == now.fingerprint and not doubted and not now.failing:
        return Standing.Proof.GOOD
    return Standing.Proof.STALE


def _bring_in_line(
    vehicle: Vehicle,
    now: Judged,
    last: Verification | None,
    pending: Reverification | None,
    *,
    state: str,
    cause: str,
    today: date,
    actor: Actor,
) -> int:
    """Make the open re-verification agree with `state`; return 1 where a new one was raised."""
    if state == Standing.Proof.NOTHING_FITTED:
        # A newly added vehicle keeps its comparison: nothing is on it yet, and that is the point.
        if pending and pending.cause != Reverification.Cause.VEHICLE_ADDED:
            withdraw(pending, today, actor, "Nothing is fitted any more.")
        return 0
    if state == Standing.Proof.NOT_TOWED:
        return _forbid(now, last, pending, today, actor)
    if state == Standing.Proof.GOOD:
        if last and last.stale_on:
            Verification.objects.filter(pk=last.pk).update(stale_on=None, stale_why=[])
        if pending:
            withdraw(pending, today, actor, "Everything is again as it was proven.")
        return 0
    told = _told(now, last, pending)
    if last:
        _mark_stale(last, told, today)
    return ask_for_proof(
        vehicle, told, cause=cause, against=last, pending=pending, today=today, actor=actor
    )


def _forbid(
    now: Judged,
    last: Verification | None,
    pending: Reverification | None,
    today: date,
    actor: Actor,
) -> int:
    """Let no proof of it stand and ask for none; nothing new is raised."""
    if last:
        _mark_stale(last, differences(last.basis, now.basis), today)
    # What a person told of is still to be proven should the ban be lifted; it waits unseen.
    if pending and not pending.told:
        withdraw(pending, today, actor, FORBIDDEN)
    return 0


def _mark_stale(proof: Verification, why: list[str], today: date) -> None:
    if proof.stale_why != why:
        Verification.objects.filter(pk=proof.pk).update(
            stale_on=proof.stale_on or today, stale_why=why
        )


def _told(now: Judged, last: Verification | None, pending: Reverification | None) -> list[str]:
    """Return the sentences that say why the vehicle must be proven again."""
    if pending and pending.cause == Reverification.Cause.VEHICLE_ADDED and last is None:
        return list(pending.differences)
    by_record = differences(last.basis, now.basis) if last else [NEVER_PROVEN]
    if last:
        by_record += [finding.title for finding in now.failing]
    # What was done elsewhere shows in no record: its sentences stay in front.
    return [*(pending.told if pending else []), *by_record]


def _keep_standing(
    vehicle: Vehicle, now: Judged, state: str, known: Standing | None, today: date, newest: int
) -> None:
    columns = {
        **judged_columns(now),
        "proof": state,
        "judged_on": today,
        "numbers": kept(now),
        "limits": newest,
    }
    if known is None:
        Standing.objects.create(vehicle=vehicle, **columns)
    elif any(getattr(known, name) != value for name, value in columns.items()):
        Standing.objects.filter(pk=known.pk).update(**columns)


def judged_columns(now: Judged) -> dict[str, Any]:
    """Return what a standing keeps of a judgement, whatever the proof says."""
    findings = now.judgement.findings
    blocking = [finding for finding in findings if finding.blocking]
    worst = max((RISK_OF_SEVERITY.get(f.severity, 0) for f in blocking), default=0)
    return {
        "fingerprint": now.fingerprint,
        "blocking": len(blocking),
        "unknown": sum(1 for finding in findings if finding.is_unknown),
        "risk": worst if now.sheet.fittings else 0,
        "headline": (blocking or findings)[0].title[:200] if findings else "",
        "told": told_to_owner(now.sheet, now.judgement),
    }


@transaction.atomic
def compare_vehicles(
    *, old: Vehicle, new: Vehicle, today: date, actor: Actor
) -> Reverification | None:
    """Raise a re-verification on `new` where gear that works on `old` meets something different.

    Returns None where nothing that matters differs, or where one is open already.
    """
    if Reverification.objects.open().filter(vehicle=new).exists():
        return None
    sheets = sheets_of([old, new])
    told = differences_for_move(sheets[old.pk], sheets[new.pk])
    if not told:
        return None
    opening = f"Compared with {old}, which carries the gear now:"
    ask_for_proof(
        new,
        [opening, *told],
        cause=Reverification.Cause.VEHICLE_ADDED,
        against=None,
        pending=None,
        today=today,
        actor=actor,
    )
    return Reverification.objects.open().get(vehicle=new)


def differences_for_move(old: Sheet, new: Sheet) -> list[str]:
    """Say in words how making `new` ready for towing differs from `old`; [] where it does not."""
    return differences(procedure_basis(old), procedure_basis(new))


def procedure_basis(sheet: Sheet) -> dict[str, Any]:
    """Return the part of the basis that tells of the procedure alone."""
    bare = sheet.without_fittings()
    return basis_of(bare, judge(bare))


@transaction.atomic
def doubt_proof(*, vehicle: Vehicle, told: str, today: date, actor: Actor) -> None:
    """Mark the proof stale for a reason that no record shows, such as work done elsewhere."""
    last = Verification.objects.filter(vehicle=vehicle).first()
    if last and not last.stale_on:
        Verification.objects.filter(pk=last.pk).update(stale_on=today, stale_why=[told])
    pending = Reverification.objects.open().filter(vehicle=vehicle).first()
    before = pending.told if pending else []
    by_record = [line for line in pending.differences if line not in before] if pending else []
    reported = [*before, told] if told not in before else before
    if pending:
        withdraw(pending, today, actor, "More was reported since; it is told anew.")
    ask_for_proof(
        vehicle,
        [*reported, *by_record],
        cause=Reverification.Cause.OUTSIDE_WORK,
        against=last,
        pending=None,
        today=today,
        actor=actor,
        told=reported,
    )
    Standing.objects.filter(vehicle=vehicle, proof=Standing.Proof.GOOD).update(
        proof=Standing.Proof.STALE
    )
