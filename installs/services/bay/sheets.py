"""Composing the sheet of a job, and composing it again when what it is about has changed."""

from collections.abc import Iterable, Sequence

from django.db import transaction

from installs.domain.bay.compose import Content, SheetStep, Tap, Work, compose, facts_of
from installs.domain.bay.progress import SETTLED, Line, StepState, next_open
from installs.domain.bay.template import Template
from installs.domain.digest import digest
from installs.models import ComponentKind, Job, JobStep
from installs.reads import component_name, sheets_of
from installs.services.judging import Judged, answered
from installs.services.signing import wanted_values
from vehicles.domain.feedmap import point_words


def lines_of(steps: Iterable[JobStep]) -> list[Line]:
    """Return the steps that are on the sheet as progress sees them, in order."""
    return [
        Line(
            step.key, step.stage, step.doc["words"], step.hold, step.state, tuple(step.doc["after"])
        )
        for step in steps
        if not step.retired
    ]


def next_step(job: Job, *, after: str = "") -> Line | None:
    """Return the next step of the job's sheet that can be answered, from `after` on."""
    return next_open(lines_of(job.steps.filter(retired=False)), after)


@transaction.atomic
def refresh_sheets(*, vehicle_ids: Iterable[int]) -> None:
    """Compose the sheets of these vehicles' open jobs again where something has changed.

    Steps keep their answers by their key. What was proven of a vehicle that has changed since is
    to be done again; steps that fell away stay in the records, off the sheet.
    """
    jobs = list(
        Job.objects.not_over()
        .filter(vehicle__in=list(vehicle_ids))
        .select_related("vehicle__model_range", "template")
        .order_by("pk")
    )
    if not jobs:
        return
    sheets = sheets_of([job.vehicle for job in jobs])
    for job in jobs:
        refresh_sheet(job, answered(sheets[job.vehicle_id]))


def refresh_sheet(job: Job, now: Judged) -> None:
    """Compose one job's sheet by the vehicle as it is judged `now`."""
    made = compose(Template.from_dict(job.template.content), content_of(job, now))
    composed_of = digest(
        {"basis": now.fingerprint, "steps": [[s.key, s.doc, s.hold, s.stage] for s in made]}
    )
    if composed_of == job.composed_of:
        return
    known = {step.key: step for step in job.steps.select_for_update()}
    fresh, changed = _laid_out(job, made, known, now.fingerprint)
    JobStep.objects.bulk_create(fresh)
    JobStep.objects.bulk_update(
        changed, ["position", "stage", "kind", "hold", "doc", "retired", "state"], batch_size=100
    )
    Job.objects.filter(pk=job.pk).update(composed_of=composed_of)
    job.composed_of = composed_of


def _laid_out(
    job: Job, made: Sequence[SheetStep], known: dict[str, JobStep], fingerprint: str
) -> tuple[list[JobStep], list[JobStep]]:
    """Return the rows to make and the rows to write."""
    fresh, changed = [], []
    for position, step in enumerate(made, start=1):
        row = known.pop(step.key, None)
        if row is None:
            row = JobStep(job=job, key=step.key)
            fresh.append(row)
        else:
            changed.append(row)
        row.position, row.stage, row.kind = position, step.stage, step.kind
        row.hold, row.doc, row.retired = step.hold, step.doc, False
        void = row.stage == "prove" and row.fingerprint not in ("", fingerprint)
        if void and row.state in (*SETTLED, StepState.FAILED):
            row.state = StepState.AGAIN
    for row in known.values():
        row.retired = True
        changed.append(row)
    return fresh, changed


def content_of(job: Job, now: Judged) -> Content:
    """Return what a job is about, from its rows and the vehicle's judgement."""
    works = list(job.works.select_related("kind", "component__kind", "fitting"))
    parts = {component_name(work.fitting) for work in works if work.fitting}
    wanted = wanted_values(now) if job.proves else []
    return Content(
        works=tuple(
            Work(
                id=work.pk,
                does=work.does,
                tags=tags_of(work.kind),
                words=str(work.component or work.kind),
                part=component_name(work.fitting) if work.fitting else "",
            )
            for work in works
        ),
        wanted=tuple(wanted),
        taps=tuple(_taps(now, parts, feeds=True)),
        grounds=tuple(_taps(now, parts, feeds=False)),
        procedure=now.sheet.procedure,
        people=tuple((f"p{person.pk}", person.name) for person in job.people.all()),
        facts=facts_of(now.sheet, proof=job.proves),
    )


def tags_of(kind: ComponentKind) -> frozenset[str]:
    """Return the names by which a template can mean this kind: its code, duty and role."""
    names = (kind.slug.replace("-", "_"), kind.duty, kind.role)
    return frozenset(name for name in names if name)


def _taps(now: Judged, parts: set[str], *, feeds: bool) -> Iterable[Tap]:
    """Yield the fuse taps, or the grounds in body and battery, of the parts on the job."""
    labels = {(port.component, port.port): port.label for port in now.judgement.ports}
    for fitting in now.sheet.fittings:
        if fitting.id not in parts:
            continue
        for name, port in fitting.ports.ports.items():
            label = labels.get((fitting.id, name), name)
            if feeds and port.feed.startswith("fuse:"):
                yield Tap(fitting.id, name, f"{label}, {point_words(port.feed)}")
            if not feeds and port.ground not in ("own", "unknown"):
                yield Tap(fitting.id, name, label)
