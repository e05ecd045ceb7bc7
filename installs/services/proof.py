"""Proof: signing it, noticing that it no longer holds, and withdrawing a doubt that fell away."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import OuterRef, Subquery

from installs.domain.basis import basis_of, differences
from installs.domain.findings import state_words
from installs.domain.measured import Measured, Wanted, proof_faults
from installs.domain.needs import judge
from installs.domain.ownerwords import told_to_owner
from installs.domain.reckoned import JUDGED_BY
from installs.domain.sheet import Sheet
from installs.models import Fitting, Reverification, Standing, Verification
from installs.reads import sheets_of
from installs.services.judging import Judged, Keys, judge_vehicle, kept, rejudged
from vehicles.domain.procedure import NOT_ALLOWED
from vehicles.models import LimitVersion, ProcedureRevision, Vehicle
from vehicles.records import Actor, record_event

CHANGED_MEANWHILE = (
    "The procedure, the wiring or what a part needs changed while this was measured. "
    "Look at what differs, and measure in the tow state as it is now."
)
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
            _withdraw(pending, today, actor, "Nothing is fitted any more.")
        return 0
    if state == Standing.Proof.NOT_TOWED:
        return _forbid(now, last, pending, today, actor)
    if state == Standing.Proof.GOOD:
        if last and last.stale_on:
            Verification.objects.filter(pk=last.pk).update(stale_on=None, stale_why=[])
        if pending:
            _withdraw(pending, today, actor, "Everything is again as it was proven.")
        return 0
    told = _told(now, last, pending)
    if last:
        _mark_stale(last, told, today)
    return _raise(
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
        _withdraw(pending, today, actor, FORBIDDEN)
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


def _raise(
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
        _withdraw(pending, today, actor, "More has changed since; it is told anew.")
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


def _withdraw(pending: Reverification, today: date, actor: Actor, why: str) -> None:
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
    _raise(
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


def wanted_values(now: Judged) -> list[Wanted]:
    """Return every value that a proof of this vehicle must hold, in the order of the sheet."""
    return [
        Wanted(
            component=port.component,
            port=port.port,
            state=state,
            demand=demand,
            label=f"{port.label} {state_words(state)}",
            timer_minutes=port.answers[state].until_minutes,
        )
        for port in (*now.judgement.ports, *now.judgement.loads)
        for state, demand in port.demands.items()
        if demand in ("on", "off")
    ]


def _day_faults(vehicle: Vehicle, proven_on: date, today: date) -> list[str]:
    newest = Fitting.objects.current().filter(vehicle=vehicle).order_by("-since").first()
    if proven_on > today:
        return [f"It cannot have been measured on {proven_on}: that day is still to come."]
    if newest and proven_on < newest.since:
        return [f"{newest.component} was fitted on {newest.since} only; measure after that."]
    return []


@transaction.atomic
def sign_verification(
    *,
    vehicle: Vehicle,
    measured: Sequence[Measured],
    proven_on: date,
    today: date,
    actor: Actor,
    note: str = "",
    shown: str | None = None,
) -> Verification:
    """Sign a proof of the vehicle as it stands in the records now.

    `shown` is the fingerprint of what the signer had before the eyes. Raises ValidationError with
    every reason why it cannot be signed: something changed since then, a finding that blocks, a
    value that is missing, too early or wrong, a day that cannot be, nothing fitted.
    """
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    now = judge_vehicle(vehicle, measured=measured)
    if shown is not None and shown != now.fingerprint:
        raise ValidationError(CHANGED_MEANWHILE)
    reasons = _day_faults(vehicle, proven_on, today)
    reasons += [finding.title for finding in now.judgement.findings if finding.blocking]
    faults = proof_faults(wanted_values(now), measured, alive_volts=now.alive_volts)
    reasons += faults.values()
    if not now.sheet.fittings:
        reasons.append("Nothing is fitted: there is nothing to prove.")
    if reasons:
        raise ValidationError(reasons)
    signed = Verification.objects.create(
        vehicle=vehicle,
        procedure=ProcedureRevision.objects.in_force_for(vehicle),
        basis=now.basis,
        fingerprint=now.fingerprint,
        measured=[asdict(reading) for reading in measured],
        proven_on=proven_on,
        signed_by=actor.name,
        signed_by_id=actor.id,
        note=note,
    )
    Reverification.objects.open().filter(vehicle=vehicle).update(
        state=Reverification.State.DONE, closed_on=proven_on, closed_by=signed
    )
    record_event(
        actor=actor,
        verb="signed proof",
        subject=signed,
        after={"fingerprint": signed.fingerprint, "measured": signed.measured},
        why=note,
        vehicle_id=vehicle.pk,
    )
    return signed


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
        _withdraw(pending, today, actor, "More was reported since; it is told anew.")
    _raise(
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
