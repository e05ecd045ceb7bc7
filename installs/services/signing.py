"""Signing a proof: what it must hold, and every reason why it cannot be signed."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.findings import state_words
from installs.domain.measured import Measured, Wanted, proof_faults
from installs.models import Fitting, Reverification, Verification
from installs.services.judging import Judged, judge_vehicle
from vehicles.models import ProcedureRevision, Vehicle
from vehicles.records import Actor, record_event

CHANGED_MEANWHILE = (
    "The procedure, the wiring or what a part needs changed while this was measured. "
    "Look at what differs, and measure in the tow state as it is now."
)


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
