"""Step templates: what a sheet in the bay asks, in which order, and what may not be passed.

A template is a JSON document (schema: ``step_template.schema.json``) in immutable revisions; a
job keeps the revision it was opened with. ``template_faults`` finds what is wrong with one,
``Template.from_dict`` reads one without faults. `compose.py` makes a job's sheet of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Self

from installs.domain.findings import SEVERITIES
from vehicles.domain.faults import Fault, load_schema, pointer, schema_faults
from vehicles.domain.plain import Plain
from vehicles.domain.units import Kind as Quantity
from vehicles.domain.units import unit_choices

STAGES = ("before", "fit", "prove", "hand_over")
STAGE_WORDS = {
    "before": "Before",
    "fit": "Fit",
    "prove": "Prove",
    "hand_over": "Hand over",
}
# What a step is answered with.
KINDS = {
    "tick": "tick",
    "choice": "choice",
    "number": "number with a unit",
    "volts": "volts at a port",
    "text": "words",
    "scan": "number scanned or typed",
    "photo": "photos",
    "timer": "time run",
    "second_person": "a second person",
    "part": "entry in the records",
    "person": "shown, then done alone",
    "signature": "signature",
}
# What a step of the template is repeated for.
PER = (
    "job",  # once
    "item",  # each of its own items
    "part",  # each part that the job works on
    "tap",  # each port of such a part that hangs on a fuse
    "ground",  # each port of such a part that returns through body or battery
    "port",  # each value that the proof must hold, in the states named
    "procedure",  # each step that readies the vehicle for towing
    "reverse",  # each step that undoes one of those, last first
    "person",  # each person who will hook up
)
SCHEMA_FILE = Path(__file__).with_name("step_template.schema.json")
SHIPPED_FILE = Path(__file__).with_name("shipped_template.json")


@dataclass(frozen=True)
class When(Plain):
    """Which jobs a step is for: empty groups ask nothing, all groups must agree.

    ``does`` names kinds of work (fit, move, inspect, remove), ``kinds`` kinds of part by code, duty
    or role, ``facts`` what must be true of the job (see `compose.facts_of`), ``never`` what not.
    """

    does: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    never: tuple[str, ...] = ()


@dataclass(frozen=True)
class Caution(Plain):
    """A caution where the hand is about to act; ``word`` is a signal word of ANSI Z535.4."""

    word: str
    text: str


@dataclass(frozen=True)
class Choice(Plain):
    """One of the answers of a choice. ``good``: it passes; what does not pass fails the step."""

    value: str
    words: str
    good: bool = True


@dataclass(frozen=True)
class Ask(Plain):
    """The figures of a number, a timer or a scan.

    ``least`` and ``most`` are in ``unit``, a timer's in seconds; ``source`` is where the figure
    comes from. ``quantity`` is a kind of `vehicles.domain.units`. ``table`` takes the least from a
    table by temperature, which is asked for beside it. Values of one ``group`` may differ by
    ``apart`` at most. ``equals`` names what the records hold of it already.
    """

    quantity: str = ""
    unit: str = ""
    least: float | None = None
    most: float | None = None
    source: str = ""
    equals: str = ""
    table: str = ""
    group: str = ""
    apart: float | None = None


@dataclass(frozen=True)
class TemplateStep:
    """One step of a template. ``block`` keeps steps of one part (or person) together."""

    id: str
    stage: str
    kind: str
    words: str
    per: str = "job"
    help: str = ""
    block: str = ""
    picture: str = ""
    hold: bool = False
    may_skip: bool = False
    may_decline: bool = False
    stops: bool = False
    after: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    when: When = When()
    ask: Ask = Ask()
    cautions: tuple[Caution, ...] = ()
    choices: tuple[Choice, ...] = ()
    items: tuple[tuple[str, str], ...] = ()

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from one object of a faultless document."""
        values = dict(data)
        values["when"] = When.from_dict(data.get("when", {}))
        values["ask"] = Ask.from_dict(data.get("ask", {}))
        values["cautions"] = tuple(Caution.from_dict(item) for item in data.get("cautions", ()))
        values["choices"] = tuple(Choice.from_dict(item) for item in data.get("choices", ()))
        values["items"] = tuple((item["id"], item["words"]) for item in data.get("items", ()))
        for name in ("after", "states"):
            values[name] = tuple(data.get(name, ()))
        return cls(**values)


@dataclass(frozen=True)
class Template:
    """A template: its name, and its steps in the order of the sheet."""

    name: str
    steps: tuple[TemplateStep, ...]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from a document in which `template_faults` found nothing; sorts by stage."""
        steps = [TemplateStep.from_dict(step) for step in data["steps"]]
        # A stable sort: within a stage the order of the document stands.
        return cls(data["name"], tuple(sorted(steps, key=lambda step: STAGES.index(step.stage))))


def shipped_document() -> dict[str, Any]:
    """Return the template that a new shop starts with."""
    return load_schema(SHIPPED_FILE)


@cache
def _validator() -> Any:
    # Imported when first needed, as for vehicle sheets: it is slow to load.
    from jsonschema import Draft202012Validator  # noqa: PLC0415

    return Draft202012Validator(load_schema(SCHEMA_FILE))


def template_faults(data: object) -> list[Fault]:
    """Return every fault of a template document, each with its place and a sentence."""
    faults = schema_faults(_validator(), data)
    return faults or sorted(_cross_faults(data))  # type: ignore[arg-type]


def _cross_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    at_of = {step["id"]: at for at, step in enumerate(data["steps"])}
    for at, step in enumerate(data["steps"]):
        place = pointer(["steps", at])
        if at_of[step["id"]] != at:
            yield Fault(f"{place}/id", f"Two steps are called “{step['id']}”.")
        yield from _order_faults(data["steps"], at_of, at, place)
        yield from _answer_faults(step, place)


def _order_faults(
    steps: list[Mapping[str, Any]], at_of: Mapping[str, int], at: int, place: str
) -> Iterator[Fault]:
    step = steps[at]
    for name in step.get("after", ()):
        if name not in at_of:
            yield Fault(f"{place}/after", f"There is no step “{name}”.")
            continue
        here = (STAGES.index(step["stage"]), at)
        there = (STAGES.index(steps[at_of[name]]["stage"]), at_of[name])
        if there >= here:
            told = f"“{name}” comes later on the sheet than “{step['id']}”, which waits for it."
            yield Fault(f"{place}/after", told)


def _answer_faults(step: Mapping[str, Any], place: str) -> Iterator[Fault]:
    yield from _kind_faults(step, place)
    yield from _figure_faults(step, place)
    if step.get("hold") and step.get("may_skip"):
        yield Fault(f"{place}/hold", "A hold point cannot be left out.")
    for at, caution in enumerate(step.get("cautions", ())):
        if caution["word"] not in SEVERITIES:
            words = ", ".join(SEVERITIES)
            yield Fault(f"{place}/cautions/{at}/word", f"Use one of {words}.")


def _kind_faults(step: Mapping[str, Any], place: str) -> Iterator[Fault]:
    if step["kind"] == "choice" and not any(c.get("good", True) for c in step.get("choices", ())):
        yield Fault(f"{place}/choices", "Give at least one answer that passes.")
    if step.get("per") == "item" and not step.get("items"):
        yield Fault(f"{place}/items", "Name the items that this step is repeated for.")
    if (step.get("per") == "port") != (step["kind"] == "volts"):
        yield Fault(f"{place}/kind", "Volts are asked at each port of the proof, and only there.")
    if step["kind"] == "volts" and not step.get("states"):
        yield Fault(f"{place}/states", "Say in which state the volts are measured.")


def _figure_faults(step: Mapping[str, Any], place: str) -> Iterator[Fault]:
    ask = step.get("ask", {})
    if step["kind"] == "number":
        if ask.get("quantity") not in tuple(Quantity):
            yield Fault(f"{place}/ask/quantity", "Say which quantity is measured.")
        elif ask.get("unit") not in dict(unit_choices(Quantity(ask["quantity"]))):
            yield Fault(f"{place}/ask/unit", f"Choose a unit of {ask['quantity']}.")
    if step["kind"] == "timer" and ask.get("least") is None:
        yield Fault(f"{place}/ask", "Say how many seconds it must hold at least.")
    least, most = ask.get("least"), ask.get("most")
    if least is not None and most is not None and least > most:
        yield Fault(f"{place}/ask", "The least that passes is above the most.")
