"""Taking answers: checked, judged, kept for good, never overwritten."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.bay.answers import AnswerError, Context, Read, read_answer
from installs.domain.bay.progress import StepState, status_by_progress, waits
from installs.domain.bay.status import Status
from installs.models import Job, JobStep, JobWork, StepAnswer
from installs.reads import sheets_of
from installs.services.judging import answered
from vehicles.domain.units import Kind as Quantity
from vehicles.domain.units import to_display
from vehicles.models import LimitVersion, ProcedureRevision, Vehicle
from vehicles.records import Actor

from .jobs import locked_job, set_status
from .sheets import lines_of, refresh_sheet

VIN_TAIL = 6
_ON_THE_WAY = (Status.IN_HAND, Status.TO_BE_PROVEN, Status.TO_BE_HANDED_OVER)


@transaction.atomic
def answer_step(
    *,
    job: Job,
    key: str,
    raw: Mapping[str, Any],
    client_id: UUID,
    at: datetime,
    actor: Actor,
    seen: int | None = None,
    device: str = "",
) -> StepAnswer:
    """Take an answer to a step of a job's sheet. The same `client_id` again changes nothing.

    `seen` is how many answers of the step the person had before the eyes (None: the newest). An
    answer given without having seen another's is kept beside it, and the step is contested until
    somebody who sees both gives the one that holds. Raises ValidationError: by field for bad
    input, else with what must be done before.
    """
    known = StepAnswer.objects.filter(client_id=client_id).first()
    if known:
        return known
    job = locked_job(job)
    now = answered(sheets_of([job.vehicle])[job.vehicle_id])
    # What changed outside this page (a procedure, a part) comes before what is answered by it.
    refresh_sheet(job, now)
    steps = list(job.steps.filter(retired=False))
    step = next((step for step in steps if step.key == key), None)
    if step is None:
        raise ValidationError("This step is no longer on the sheet. Go back to the sheet.")
    held = waits(lines_of(steps), key)
    if held:
        raise ValidationError(held)
    read = _read(job, step, steps, raw, actor)
    answer = StepAnswer.objects.create(
        step=step,
        number=step.answers_count + 1,
        state=read.state,
        value=read.value,
        sentence=read.sentence,
        by=actor.name,
        by_id=actor.id,
        at=at,
        client_id=client_id,
        device=device,
    )
    step.state = _state(step, answer, seen)
    step.answers_count, step.fingerprint = answer.number, now.fingerprint
    step.save(update_fields=["state", "answers_count", "fingerprint"])
    _go_on(job, steps, step, read, actor)
    return answer


def _read(
    job: Job, step: JobStep, steps: Iterable[JobStep], raw: Mapping[str, Any], actor: Actor
) -> Read:
    if step.kind == "part":
        return _entry(step)
    context = Context(
        by_id=actor.id,
        by=actor.name,
        expects=_expects(job.vehicle, step),
        others=_group(step, steps),
        limits=LimitVersion.objects.in_force(),
    )
    try:
        return read_answer(step.kind, step.doc, raw, context)
    except AnswerError as error:
        raise ValidationError(error.faults) from error


def _entry(step: JobStep) -> Read:
    """Answer a step that asks for an entry in the records: it is there or it is not."""
    work = JobWork.objects.select_related("fitting__component").get(pk=step.doc["work"])
    fitting = work.fitting
    if work.does == JobWork.Does.REMOVE:
        if fitting is None or fitting.until is None:
            raise ValidationError("Enter first that the part has been taken off.")
        return Read(StepState.PASSED, {"fitting": fitting.pk, "part": str(fitting.component)})
    if fitting is None or fitting.until is not None:
        raise ValidationError("Enter the part in the records first.")
    value = {"fitting": fitting.pk, "part": str(fitting.component), "place": fitting.place}
    return Read(StepState.PASSED, value)


def _expects(vehicle: Vehicle, step: JobStep) -> dict[str, str]:
    """Return what the records hold of the thing that the step asks to be read."""
    asked = step.doc["ask"].get("equals", "")
    if asked == "vin_tail" and vehicle.vin:
        return {asked: vehicle.vin[-VIN_TAIL:]}
    if asked == "plate" and vehicle.plate:
        return {asked: vehicle.plate}
    if asked == "verdict":
        revision = ProcedureRevision.objects.in_force_for(vehicle)
        verdict = revision.verdict if revision else ProcedureRevision.Verdict.NOT_ESTABLISHED
        return {asked: verdict}
    return {}


def _group(step: JobStep, steps: Iterable[JobStep]) -> dict[str, float]:
    """Return the values given at the other steps of the same group, in the unit asked for."""
    group = step.doc["ask"].get("group", "")
    if not group:
        return {}
    others = [s for s in steps if s.doc["ask"].get("group") == group and s.key != step.key]
    kind, unit = Quantity(step.doc["ask"]["quantity"]), step.doc["ask"]["unit"]
    return {
        answer.step.doc["words"]: float(to_display(kind, Decimal(answer.value["canonical"]), unit))
        for answer in current_answers(others)
        if "canonical" in answer.value
    }


def current_answers(steps: Iterable[JobStep]) -> list[StepAnswer]:
    """Return the newest answer of each of these steps, in one query."""
    rows = StepAnswer.objects.filter(step__in=[step.pk for step in steps]).select_related("step")
    newest = {answer.step_id: answer for answer in rows.order_by("step", "number")}
    return list(newest.values())


def _state(step: JobStep, answer: StepAnswer, seen: int | None) -> str:
    """Return how the step stands after `answer`."""
    if seen is None or seen >= step.answers_count:
        return answer.state
    unseen = step.answers.filter(number__gt=seen, number__lt=answer.number)
    if all(other.state == answer.state and other.value == answer.value for other in unseen):
        return answer.state
    return StepState.CONTESTED


def _go_on(job: Job, steps: list[JobStep], step: JobStep, read: Read, actor: Actor) -> None:
    """Bring the job's status in line with its sheet."""
    if read.state == StepState.FAILED and step.doc["stops"]:
        told = f"{step.doc['words']} {read.sentence}".strip()
        set_status(job, Status.WAITING_ON, actor=actor, why=told)
        return
    if job.status in (Status.ASKED_FOR, Status.READY, *_ON_THE_WAY):
        set_status(job, status_by_progress(lines_of(steps)), actor=actor)
