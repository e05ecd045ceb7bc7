"""Closing a job: everything settled, the proof signed, the record frozen; and its addenda."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.bay.progress import closing_faults
from installs.domain.bay.record import addendum_digest
from installs.domain.bay.status import Status, move_fault
from installs.domain.digest import digest
from installs.domain.measured import Measured
from installs.models import (
    Addendum,
    Inspection,
    Job,
    JobRecord,
    JobStep,
    JobWork,
    StepAnswer,
    Verification,
)
from installs.services.inspections import record_inspection
from installs.services.judging import Judged, judge_vehicle
from installs.services.signing import sign_verification
from vehicles.records import Actor, record_event

from .answering import current_answers
from .jobs import locked_job, set_status
from .sheets import lines_of, refresh_sheet

# How the choice of an inspection reads as a result.
_RESULTS = {
    "good": Inspection.Result.PASSED,
    "worn": Inspection.Result.ADVICE,
    "bad": Inspection.Result.FAILED,
}


@transaction.atomic
def close_job(
    *, job: Job, today: date, now: datetime, actor: Actor, without_proof: str = ""
) -> JobRecord:
    """Close a job whose sheet is settled: sign the proof, note the inspections, freeze the record.

    Raises ValidationError with every step that is open and every reason why the proof cannot be
    signed. `without_proof` is the customer's written refusal to have cured what blocks the proof:
    the job can then be closed, and the vehicle stays unproven.
    """
    job = locked_job(job)
    state = judge_vehicle(job.vehicle)
    refresh_sheet(job, state)
    steps = list(job.steps.filter(retired=False))
    fault = move_fault(job.status, Status.CLOSED)
    reasons = closing_faults(lines_of(steps)) or ([fault] if fault else [])
    if reasons:
        raise ValidationError(reasons)
    answers = current_answers(steps)
    signed = None
    if job.proves and not without_proof.strip():
        signed = sign_verification(
            vehicle=job.vehicle,
            measured=_measured(answers),
            proven_on=today,
            today=today,
            actor=actor,
            note=f"{job}",
            shown=state.fingerprint,
        )
    _inspections(job, answers, today, actor)
    job.times.filter(ended_at=None).update(ended_at=now)
    content = _content(job, state, signed, without_proof, now, actor)
    record = JobRecord.objects.create(
        job=job,
        content=content,
        sha256=digest(content),
        verification=signed,
        frozen_at=now,
        frozen_by=actor.name,
    )
    set_status(job, Status.CLOSED, actor=actor)
    Job.objects.filter(pk=job.pk).update(closed_at=now)
    record_event(
        actor=actor,
        verb="closed job",
        subject=record,
        after={"sha256": record.sha256, "proven": signed is not None},
        why=without_proof,
        vehicle_id=job.vehicle_id,
    )
    return record


def _measured(answers: list[StepAnswer]) -> list[Measured]:
    """Return the volts measured at the ports, as the proof takes them."""
    return [
        Measured(
            component=answer.step.doc["part"],
            port=answer.step.doc["port"],
            state=answer.step.doc["state"],
            volts=answer.value.get("volts"),
            minutes_since_key_off=answer.value.get("minutes"),
        )
        for answer in answers
        if answer.step.kind == "volts"
    ]


def _inspections(job: Job, answers: list[StepAnswer], today: date, actor: Actor) -> None:
    """Note each inspection of the job, so that what was due is done and the next one planned."""
    by_work = {a.step.doc.get("work"): a for a in answers if a.step.doc["id"] == "looked_at"}
    for work in job.works.filter(does=JobWork.Does.INSPECT):
        answer = by_work.get(work.pk)
        if answer is None or work.fitting is None or work.check_done is None:
            continue
        result = _RESULTS.get(answer.value.get("choice"), Inspection.Result.NOT_TESTED)
        record_inspection(
            vehicle=job.vehicle,
            fitting=work.fitting,
            check=work.check_done,
            done_on=today,
            result=result,
            actor=actor,
            note=answer.value.get("note", ""),
        )


def _content(
    job: Job,
    state: Judged,
    signed: Verification | None,
    without_proof: str,
    now: datetime,
    actor: Actor,
) -> dict[str, Any]:
    """Return everything that the record freezes, as plain JSON."""
    vehicle = job.vehicle
    return {
        "job": job.pk,
        "title": job.title,
        "note": job.note,
        "template": {"name": str(job.template.template), "revision": job.template.number},
        "vehicle": {
            "id": vehicle.pk,
            "is": str(vehicle),
            "vin": vehicle.vin,
            "plate": vehicle.plate,
        },
        "coach": {"id": job.coach.pk, "is": str(job.coach)} if job.coach else None,
        "works": [str(work) for work in job.works.select_related("component__kind", "kind")],
        "people": [person.name for person in job.people.all()],
        "times": [
            {"name": t.name, "began": t.began_at.isoformat(), "ended": t.ended_at.isoformat()}
            for t in job.times.all()
            if t.ended_at
        ],
        "steps": [_step(step) for step in _steps_with_answers(job)],
        "findings": [
            {"word": f.severity.value, "title": f.title, "blocking": f.blocking}
            for f in state.judgement.findings
        ],
        "sheet": state.sheet.to_dict(),
        "fingerprint": state.fingerprint,
        "proof": signed.pk if signed else None,
        "without_proof": without_proof,
        "closed_at": now.isoformat(),
        "closed_by": actor.name,
    }


def _steps_with_answers(job: Job) -> list[JobStep]:
    """All steps of the job, retired ones with answers too: nothing answered is left out."""
    steps = job.steps.prefetch_related("answers")
    return [step for step in steps if not step.retired or step.answers_count]


def _step(step: JobStep) -> dict[str, Any]:
    return {
        "key": step.key,
        "stage": step.stage,
        "words": step.doc["words"],
        "cautions": step.doc["cautions"],
        "hold": step.hold,
        "on_sheet": not step.retired,
        "state": step.state,
        "answers": [
            {
                "state": answer.state,
                "value": answer.value,
                "sentence": answer.sentence,
                "by": answer.by,
                "at": answer.at.isoformat(),
            }
            for answer in step.answers.all()
        ],
    }


def record_faults(record: JobRecord) -> list[str]:
    """Return a sentence for each thing in a record or its addenda that was tampered with."""
    told = []
    if digest(record.content) != record.sha256:
        told.append("The record does not agree with its digest: it was changed.")
    before = record.sha256
    for addendum in record.addenda.order_by("number"):
        expected = addendum_digest(before, **_of_addendum(addendum))
        if expected != addendum.sha256:
            told.append(f"Addendum {addendum.number} does not agree with its digest.")
        before = addendum.sha256
    return told


def _of_addendum(addendum: Addendum) -> Mapping[str, str]:
    return {
        "text": addendum.text,
        "reason": addendum.reason,
        "by": addendum.by,
        "at": addendum.at.isoformat(),
    }


@transaction.atomic
def add_addendum(
    *, record: JobRecord, text: str, reason: str, now: datetime, actor: Actor
) -> Addendum:
    """Add a correction to a frozen record. Raises ValidationError with a sentence per field."""
    faults = {}
    if not text.strip():
        faults["text"] = "Write what is to be corrected or added."
    if not reason.strip():
        faults["reason"] = "Say why."
    if faults:
        raise ValidationError(faults)
    JobRecord.objects.select_for_update().get(pk=record.pk)
    last = record.addenda.order_by("-number").first()
    addendum = Addendum(
        record=record,
        number=last.number + 1 if last else 1,
        text=text.strip(),
        reason=reason.strip(),
        by=actor.name,
        by_id=actor.id,
        at=now,
    )
    before = last.sha256 if last else record.sha256
    addendum.sha256 = addendum_digest(before, **_of_addendum(addendum))
    addendum.save(force_insert=True)
    record_event(
        actor=actor,
        verb="added addendum",
        subject=addendum,
        after={"text": addendum.text, "sha256": addendum.sha256},
        why=addendum.reason,
        vehicle_id=record.job.vehicle_id,
    )
    return addendum
