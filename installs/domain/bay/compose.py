"""From a template and what a job is about to its sheet: one ordered list without duplicates.

Composing is repeatable: a step is known by its ``key`` (the template's id and what it is repeated
for), so that a sheet composed again after a part was added keeps every answer it had.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from installs.domain.bay.template import Template, TemplateStep
from installs.domain.measured import Wanted
from installs.domain.sheet import Sheet
from vehicles.domain.procedure import Procedure
from vehicles.domain.procedure import Step as ProcedureStep


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work of a job: what is done (fit, move, inspect, remove) to which part.

    ``tags`` are what a template's ``kinds`` can mean: the kind's code, its duty and its role.
    """

    id: int
    does: str
    tags: frozenset[str]
    words: str
    part: str = ""


@dataclass(frozen=True, slots=True)
class Tap:
    """A port of a part on the job with the point that it hangs on, in words."""

    part: str
    port: str
    words: str


@dataclass(frozen=True)
class Content:
    """What a job is about. ``people`` are those who will hook up."""

    works: tuple[Work, ...] = ()
    wanted: tuple[Wanted, ...] = ()
    taps: tuple[Tap, ...] = ()
    grounds: tuple[Tap, ...] = ()
    procedure: Procedure | None = None
    people: tuple[tuple[str, str], ...] = ()
    facts: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One step of a job's sheet; ``doc`` is what page, service and record need of it (JSON)."""

    key: str
    stage: str
    kind: str
    hold: bool
    doc: dict[str, Any] = field(hash=False)


def facts_of(sheet: Sheet, *, proof: bool) -> frozenset[str]:
    """Return what a template's ``when`` can ask of a job.

    ``disconnect``, ``transfer_case``, ``charge_line``, ``fuses_out``: the procedure has such a
    step; ``may_not_be_towed`` and ``not_established``: its verdict; ``parts``: something is
    fitted; ``proof``: the job ends in a signed proof.
    """
    actions = {step.action for step in sheet.procedure.steps}
    told = {
        "disconnect": "disconnect_open" in actions,
        "transfer_case": "transfer_case" in actions,
        "charge_line": "charge_connect" in actions,
        "fuses_out": "fuse_out" in actions,
        "may_not_be_towed": sheet.procedure.verdict == "not_allowed",
        "not_established": sheet.procedure.verdict == "not_established",
        "parts": bool(sheet.fittings),
        "proof": proof,
    }
    return frozenset(name for name, true in told.items() if true)


def compose(template: Template, content: Content) -> tuple[SheetStep, ...]:
    """Return the sheet of a job: each step once, in the order of the template.

    Neighbouring steps with the same ``block`` and ``per`` are laid out part by part (mount, wire
    and ground one part, then the next), all others step by step.
    """
    made: dict[str, SheetStep] = {}
    chosen = [step for step in template.steps if _concerns(step, content)]
    for _, run in groupby(chosen, key=lambda s: (s.stage, s.block, s.per) if s.block else s.id):
        for step in _expanded(list(run), content):
            made.setdefault(step.key, step)
    return tuple(_with_waits(made.values(), template))


def _concerns(step: TemplateStep, content: Content) -> bool:
    when = step.when
    if not set(when.facts) <= content.facts or set(when.never) & content.facts:
        return False
    if step.per == "part" or not (when.does or when.kinds):
        return True
    return any(_fits(step, work) for work in content.works)


def _fits(step: TemplateStep, work: Work) -> bool:
    when = step.when
    return (not when.does or work.does in when.does) and (
        not when.kinds or not work.tags.isdisjoint(when.kinds)
    )


@dataclass(frozen=True, slots=True)
class _Subject:
    """What one copy of a step is about: its name in the key, words, and what it carries."""

    name: str = ""
    words: str = ""
    carries: tuple[tuple[str, Any], ...] = ()
    work: Work | None = None


def _expanded(run: Sequence[TemplateStep], content: Content) -> Iterator[SheetStep]:
    """Yield the copies of a run of steps, subject by subject."""
    subjects = {step.id: _subjects(step, content) for step in run}
    order = list(dict.fromkeys(subject.name for step in run for subject in subjects[step.id]))
    for name in order:
        for step in run:
            for subject in subjects[step.id]:
                if subject.name == name:
                    yield _made(step, subject)


def _subjects(step: TemplateStep, content: Content) -> list[_Subject]:
    if step.per == "item":
        return [_Subject(code, words) for code, words in step.items]
    if step.per == "part":
        works = [work for work in content.works if _fits(step, work)]
        return [_Subject(f"w{w.id}", w.words, (("work", w.id), ("part", w.part)), w) for w in works]
    if step.per in ("tap", "ground"):
        taps = content.taps if step.per == "tap" else content.grounds
        return [
            _Subject(f"{t.part}.{t.port}", t.words, (("part", t.part), ("port", t.port)))
            for t in taps
        ]
    if step.per == "port":
        return [_wanted(want) for want in content.wanted if want.state in step.states]
    if step.per == "person":
        return [_Subject(code, name, (("person", name),)) for code, name in content.people]
    if step.per in ("procedure", "reverse"):
        return _of_procedure(step.per, content.procedure)
    return [_Subject()]


def _wanted(want: Wanted) -> _Subject:
    carries = (
        ("part", want.component),
        ("port", want.port),
        ("state", want.state),
        ("demand", want.demand),
        ("timer_minutes", want.timer_minutes),
    )
    return _Subject(f"{want.component}.{want.port}@{want.state}", want.label, carries)


def _of_procedure(per: str, procedure: Procedure | None) -> list[_Subject]:
    if procedure is None:
        return []
    if per == "procedure":
        return [_Subject(f"s{s.no}", s.words, _does(s)) for s in procedure.steps]
    by_no = {step.no: step for step in procedure.steps}
    return [_Subject(f"r{no}", words, _does(by_no[no])) for no, words in procedure.reverse_steps()]


def _does(step: ProcedureStep) -> tuple[tuple[str, Any], ...]:
    return (("procedure_step", step.no), ("fuse", step.target if step.action == "fuse_out" else ""))


def _made(step: TemplateStep, subject: _Subject) -> SheetStep:
    key = f"{step.id}:{subject.name}" if subject.name else step.id
    # The words may say where the subject goes; else it stands before them.
    if "{it}" in step.words:
        words = step.words.replace("{it}", subject.words)
    elif subject.words:
        words = f"{subject.words}: {step.words}"
    else:
        words = step.words
    doc: dict[str, Any] = {
        "id": step.id,
        "words": words,
        "help": step.help,
        "cautions": [caution.to_dict() for caution in step.cautions],
        "choices": [choice.to_dict() for choice in step.choices],
        "ask": step.ask.to_dict(),
        "picture": step.picture,
        "may_skip": step.may_skip,
        "may_decline": step.may_decline,
        "stops": step.stops,
        "subject": subject.name,
        **dict(subject.carries),
    }
    if subject.work is not None:
        doc["does"] = subject.work.does
    return SheetStep(key, step.stage, step.kind, step.hold, doc)


def _with_waits(steps: Iterable[SheetStep], template: Template) -> Iterator[SheetStep]:
    """Add to each step the keys it waits for: those of the same subject, else all of that id."""
    made = list(steps)
    after = {step.id: step.after for step in template.steps}
    for step in made:
        waits: list[str] = []
        for name in after[step.doc["id"]]:
            same = [other for other in made if other.doc["id"] == name]
            mine = [other for other in same if other.doc["subject"] == step.doc["subject"]]
            waits += [other.key for other in mine or same]
        step.doc["after"] = waits
        yield step
