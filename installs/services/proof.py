"""Proof: signing it, noticing that it no longer holds, and withdrawing a doubt that fell away."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import OuterRef, Subquery

from installs.domain.basis import basis_of, differences, fingerprint
from installs.domain.findings import state_words
from installs.domain.measured import Measured, Wanted, proof_faults
from installs.domain.needs import Judgement, judge
from installs.domain.sheet import Sheet
from installs.models import Fitting, Reverification, Standing, Verification
from installs.reads import sheets_of
from vehicles.models import ProcedureRevision, Vehicle
from vehicles.records import Actor, record_event

CHANGED_MEANWHILE = (
    "The procedure, the wiring or what a part needs changed while this was measured. "
    "Look at what differs, and measure in the tow state as it is now."
)
NEVER_PROVEN = "Nothing has been proven on this vehicle yet."
RISK_OF_SEVERITY = {"NOTICE": 1, "CAUTION": 2, "WARNING": 3, "DANGER": 4}


@dataclass(frozen=True)
class Judged:
    """A vehicle's sheet with its judgement and the basis that a proof of it would bind."""

    sheet: Sheet
    judgement: Judgement
    basis: dict[str, Any]
    fingerprint: str


def judged(sheet: Sheet) -> Judged:
    """Judge a sheet and work out its basis."""
    judgement = judge(sheet)
    basis = basis_of(sheet, judgement)
    return Judged(sheet, judgement, basis, fingerprint(basis))


def judge_vehicle(vehicle: Vehicle) -> Judged:
    """Judge one vehicle as it stands in the records."""
    return judged(sheets_of([vehicle])[vehicle.pk])


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
    proofs = _latest_proofs(ids)
    open_ones = {r.vehicle_id: r for r in Reverification.objects.open().filter(vehicle__in=ids)}
    standings = {s.vehicle_id: s for s in Standing.objects.filter(vehicle__in=ids)}
    raised = 0
    for vehicle in vehicles:
        now = judged(sheets[vehicle.pk])
        last, pending = proofs.get(vehicle.pk), open_ones.get(vehicle.pk)
        state = _state(now, last, pending)
        raised += _bring_in_line(
            vehicle, now, last, pending, state=state, cause=cause, today=today, actor=actor
        )
        _keep_standing(vehicle, now, state, standings.get(vehicle.pk), today)
    return raised


def _latest_proofs(ids: Sequence[int]) -> dict[int, Verification]:
    latest = (
        Verification.objects.filter(vehicle=OuterRef("vehicle")).order_by("-id").values("pk")[:1]
    )
    rows = Verification.objects.filter(vehicle__in=ids, pk=Subquery(latest)).defer("measured")
    return {row.vehicle_id: row for row in rows}


def _state(now: Judged, last: Verification | None, pending: Reverification | None) -> str:
    if not now.sheet.fittings:
        return Standing.Proof.NOTHING_FITTED
    if last is None:
        return Standing.Proof.NEVER
    doubted = pending is not None and bool(pending.told)
    if last.fingerprint == now.fingerprint and not doubted:
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
    if state == Standing.Proof.GOOD:
        if last and last.stale_on:
            Verification.objects.filter(pk=last.pk).update(stale_on=None, stale_why=[])
        if pending:
            _withdraw(pending, today, actor, "Everything is again as it was proven.")
        return 0
    told = _told(now, last, pending)
    if last and last.stale_why != told:
        Verification.objects.filter(pk=last.pk).update(
            stale_on=last.stale_on or today, stale_why=told
        )
    return _raise(
        vehicle, told, cause=cause, against=last, pending=pending, today=today, actor=actor
    )


def _told(now: Judged, last: Verification | None, pending: Reverification | None) -> list[str]:
    """Return the sentences that say why the vehicle must be proven again."""
    if pending and pending.cause == Reverification.Cause.VEHICLE_ADDED and last is None:
        return list(pending.differences)
    by_record = differences(last.basis, now.basis) if last else [NEVER_PROVEN]
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
    vehicle: Vehicle, now: Judged, state: str, known: Standing | None, today: date
) -> None:
    findings = now.judgement.findings
    blocking = [finding for finding in findings if finding.blocking]
    worst = max((RISK_OF_SEVERITY.get(f.severity, 0) for f in blocking), default=0)
    columns = {
        "proof": state,
        "fingerprint": now.fingerprint,
        "blocking": len(blocking),
        "unknown": sum(1 for finding in findings if finding.is_unknown),
        "risk": worst if now.sheet.fittings else 0,
        "headline": (blocking or findings)[0].title[:200] if findings else "",
        "judged_on": today,
    }
    if known is None:
        Standing.objects.create(vehicle=vehicle, **columns)
    elif any(getattr(known, name) != value for name, value in columns.items()):
        Standing.objects.filter(pk=known.pk).update(**columns)


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
    now = judge_vehicle(vehicle)
    if shown is not None and shown != now.fingerprint:
        raise ValidationError(CHANGED_MEANWHILE)
    reasons = _day_faults(vehicle, proven_on, today)
    reasons += [finding.title for finding in now.judgement.findings if finding.blocking]
    reasons += proof_faults(wanted_values(now), measured).values()
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
