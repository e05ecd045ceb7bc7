"""Jobs: opened, changed, moved from status to status, worked on by people whose time is kept."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from installs.domain.bay.status import STATUS_WORDS, Status, move_fault
from installs.models import (
    Check,
    Component,
    ComponentKind,
    Fitting,
    Job,
    JobPerson,
    JobTime,
    JobWork,
)
from installs.reads import sheets_of
from installs.services.judging import answered
from vehicles.models import Vehicle
from vehicles.records import Actor, change_record, record_event

from .sheets import refresh_sheet
from .templates import current_revision

IN_HAND_ELSEWHERE = "Another job on this vehicle is in hand. Finish that one first."


@transaction.atomic
def open_job(
    *,
    vehicle: Vehicle,
    title: str,
    works: Sequence[Mapping[str, Any]],
    opened_on: date,
    actor: Actor,
    coach: Vehicle | None = None,
    people: Sequence[str] = (),
    note: str = "",
    proves: bool = True,
    status: str = Status.READY,
) -> Job:
    """Open a job on a towed vehicle and compose its sheet.

    `works` are the arguments of `add_work`. Raises ValidationError with a sentence per field.
    """
    if vehicle.kind != Vehicle.Kind.TOWED:
        raise ValidationError({"vehicle": "Choose the towed vehicle; the coach is beside it."})
    if coach is not None and coach.kind != Vehicle.Kind.MOTORHOME:
        raise ValidationError({"coach": "Choose the motorhome that it is towed behind."})
    job = Job(
        vehicle=vehicle,
        coach=coach,
        template=current_revision(),
        title=title.strip(),
        note=note.strip(),
        proves=proves,
        status=status,
        opened_on=opened_on,
        opened_by=actor.name,
    )
    job.full_clean()
    job.save(force_insert=True)
    for work in works:
        _add_work(job, **work)
    for name in dict.fromkeys(name.strip() for name in people if name.strip()):
        JobPerson.objects.create(job=job, name=name)
    _recompose(job)
    record_event(
        actor=actor,
        verb="opened job",
        subject=job,
        after={"works": [str(work) for work in job.works.all()], "people": list(people)},
        why=note,
        vehicle_id=vehicle.pk,
    )
    return job


def _recompose(job: Job) -> None:
    refresh_sheet(job, answered(sheets_of([job.vehicle])[job.vehicle_id]))


def locked_job(job: Job) -> Job:
    """Return the job's row as it stands now, locked; raises where nothing may change any more."""
    current = (
        Job.objects.select_for_update(of=("self",))
        .select_related("vehicle__model_range", "template")
        .get(pk=job.pk)
    )
    if current.is_over:
        raise ValidationError(f"This job is {STATUS_WORDS[Status(current.status)]}.")
    return current


def _add_work(
    job: Job,
    *,
    does: str,
    kind: ComponentKind,
    component: Component | None = None,
    fitting: Fitting | None = None,
    check_done: Check | None = None,
    note: str = "",
) -> JobWork:
    if does in (JobWork.Does.INSPECT, JobWork.Does.REMOVE, JobWork.Does.MOVE) and fitting is None:
        raise ValidationError({"fitting": "Choose the fitted part that this is about."})
    if fitting is not None:
        component = fitting.component
    work = JobWork(
        job=job,
        does=does,
        kind=component.kind if component else kind,
        component=component,
        # What is to be moved or taken off is entered when it is done.
        fitting=fitting if does in (JobWork.Does.INSPECT, JobWork.Does.REMOVE) else None,
        check_done=check_done,
        note=note,
    )
    work.full_clean()
    work.save(force_insert=True)
    return work


@transaction.atomic
def add_work(*, job: Job, actor: Actor, **fields: Any) -> JobWork:
    """Add a piece of work; its steps join the sheet. Raises ValidationError."""
    job = locked_job(job)
    work = _add_work(job, **fields)
    _recompose(job)
    _told(job, actor, "added work", after={"work": str(work)})
    return work


@transaction.atomic
def remove_work(*, work: JobWork, actor: Actor, why: str) -> None:
    """Take a piece of work off a job. What was entered for it already cannot be taken off."""
    job = locked_job(work.job)
    entered = work.fitting_id and work.does in (JobWork.Does.FIT, JobWork.Does.MOVE)
    if entered:
        raise ValidationError(f"{work} is entered in the records already.")
    if not why.strip():
        raise ValidationError({"why": "Say why it is not done."})
    JobWork.objects.filter(pk=work.pk).delete()
    _recompose(job)
    _told(job, actor, "took work off", before={"work": str(work)}, why=why)


@transaction.atomic
def link_fitting(*, work: JobWork, fitting: Fitting, actor: Actor) -> None:
    """Note what came of a piece of work in the records. The sheet goes on with it.

    Raises ValidationError where it is about another vehicle or another kind of part.
    """
    job = locked_job(work.job)
    if fitting.vehicle_id != job.vehicle_id:
        raise ValidationError("That part is on another vehicle.")
    if fitting.component.kind_id != work.kind_id:
        raise ValidationError(f"{fitting.component} is no {work.kind}.")
    JobWork.objects.filter(pk=work.pk).update(fitting=fitting, component=fitting.component)
    _recompose(job)
    _told(job, actor, "entered", after={"work": str(work), "part": str(fitting.component)})


@transaction.atomic
def add_person(*, job: Job, name: str, actor: Actor) -> JobPerson:
    """Name somebody who will hook up. Naming one twice changes nothing."""
    job = locked_job(job)
    name = " ".join(name.split())
    if not name:
        raise ValidationError({"name": "Write the person's name."})
    person, fresh = JobPerson.objects.get_or_create(job=job, name=name)
    if fresh:
        _recompose(job)
        _told(job, actor, "named person", after={"name": name})
    return person


@transaction.atomic
def remove_person(*, person: JobPerson, actor: Actor, why: str) -> None:
    """Take a person off; the steps answered for them stay in the records, off the sheet."""
    job = locked_job(person.job)
    JobPerson.objects.filter(pk=person.pk).delete()
    _recompose(job)
    _told(job, actor, "took person off", before={"name": person.name}, why=why)


@transaction.atomic
def change_job(
    *, job: Job, changes: Mapping[str, Any], version: int, actor: Actor, why: str = ""
) -> Job:
    """Change title, note, coach or whether it ends in a proof. Raises `Clash`."""
    locked_job(job)
    changed = change_record(
        record=job,
        changes=changes,
        version=version,
        actor=actor,
        verb="changed job",
        why=why,
        vehicle_id=job.vehicle_id,
    )
    _recompose(locked_job(changed))
    return changed


@transaction.atomic
def move_job(*, job: Job, to: str, actor: Actor, why: str = "") -> Job:
    """Move a job to another status. Closing has a service of its own.

    Raises ValidationError where the table of transitions has no such way or a reason is missing.
    """
    current = locked_job(job)
    fault = move_fault(current.status, to, why=why)
    if not fault and to == Status.CLOSED:
        fault = "A job is closed with its record."
    if fault:
        raise ValidationError(fault)
    set_status(current, to, actor=actor, why=why)
    return current


def set_status(job: Job, to: str, *, actor: Actor, why: str = "") -> None:
    """Write a status that is known to be allowed, with its event. The job's row is locked."""
    if job.status == to:
        return
    before, job.status = job.status, to
    job.waits_for = why[:300] if to == Status.WAITING_ON else ""
    try:
        with transaction.atomic():
            job.save(update_fields=["status", "waits_for"])
    except IntegrityError as error:
        raise ValidationError(IN_HAND_ELSEWHERE) from error
    _told(job, actor, "moved job", before={"status": before}, after={"status": to}, why=why)


@transaction.atomic
def clock_in(*, job: Job, user_id: int, now: datetime, actor: Actor) -> JobTime:
    """Start somebody's time on a job; the clock that runs on another job stops."""
    job = locked_job(job)
    running = JobTime.objects.select_for_update().filter(user_id=user_id, ended_at=None).first()
    if running and running.job_id == job.pk:
        return running
    if running:
        JobTime.objects.filter(pk=running.pk).update(ended_at=max(now, running.began_at))
    begun = JobTime.objects.create(job=job, user_id=user_id, name=actor.name, began_at=now)
    if job.status in (Status.ASKED_FOR, Status.READY):
        set_status(job, Status.IN_HAND, actor=actor)
    _told(job, actor, "clocked in", after={"at": now})
    return begun


@transaction.atomic
def clock_out(*, job: Job, user_id: int, now: datetime, actor: Actor) -> None:
    """Stop somebody's time on a job; without a running clock nothing happens."""
    running = JobTime.objects.select_for_update().filter(job=job, user_id=user_id, ended_at=None)
    for time in running:
        JobTime.objects.filter(pk=time.pk).update(ended_at=max(now, time.began_at))
        _told(job, actor, "clocked out", after={"at": now})


def _told(
    job: Job,
    actor: Actor,
    verb: str,
    *,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    why: str = "",
) -> None:
    record_event(
        actor=actor,
        verb=verb,
        subject=job,
        before=before,
        after=after,
        why=why,
        vehicle_id=job.vehicle_id,
    )
