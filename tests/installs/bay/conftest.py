"""A job on an invented vehicle, answered as a technician would."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest

from installs.models import ComponentKind, Job, StepAnswer
from installs.services import bay, parts
from tests.factories.people import CustomerFactory
from tests.factories.proving import FEED_MAP, MARA, TODAY, own, procedure
from vehicles import services as vehicles
from vehicles.models import Vehicle
from vehicles.records import Actor

TEO = Actor("Teo Lind", 2)
NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
Answer = Callable[..., StepAnswer]


@pytest.fixture
def vehicle(db: None) -> Vehicle:
    """A towed vehicle with a feed map and a procedure of its own that pulls F08."""
    vehicle = own(CustomerFactory(), vin="1ZZDT5A18CP000123", plate="ALD 204")
    vehicles.revise_feed_map(content=FEED_MAP, actor=MARA, vehicle=vehicle)
    vehicles.revise_procedure(content=procedure("F08"), actor=MARA, vehicle=vehicle)
    return vehicle


@pytest.fixture
def transmitter(db: None) -> ComponentKind:
    demand = {"drive": "any", "tow": "on", "breakaway": "any"}
    port = {"name": "supply", "demand": demand, "peak_a": 0.4, "severity": "WARNING"}
    return parts.add_kind(
        actor=MARA,
        slug="transmitter",
        name="Link transmitter",
        duty="other",
        ports=[{**port, "consequence": "The display stays blank."}],
    )


@pytest.fixture
def job(vehicle: Vehicle, transmitter: ComponentKind) -> Job:
    return bay.open_job(
        vehicle=vehicle,
        title="Fit a transmitter",
        works=[{"does": "fit", "kind": transmitter}],
        people=["Wren Alder"],
        opened_on=TODAY,
        actor=MARA,
    )


@pytest.fixture
def answer() -> Answer:
    """Answer a step of a job by its key with what a person would enter."""

    def do(job: Job, key: str, *, actor: Actor = TEO, seen: int | None = None, **raw: Any) -> Any:
        return bay.answer_step(
            job=job, key=key, raw=raw, client_id=uuid4(), at=NOW, actor=actor, seen=seen
        )

    return do


GOOD: dict[str, dict[str, Any]] = {
    "tick": {"done": "on"},
    "text": {"text": "as agreed"},
    "photo": {"photos": ["0b6f9b6e-3c3d-4b4f-9e52-0f4f4a0f8a11"]},
    "timer": {"seconds": "15:00"},
    "second_person": {"second": "Ines Marlow"},
    "part": {},
    "person": {"shown": "on", "alone": "on"},
    "signature": {"typed": "Wren Alder"},
    "volts": {"volts": "12.4", "minutes": "40"},
}


def good_answer(job: Job, step: Any) -> dict[str, Any]:
    """Return what a person enters where all is well."""
    if step.kind == "choice":
        return {"choice": next(c["value"] for c in step.doc["choices"] if c.get("good", True))}
    if step.kind == "scan":
        asked = step.doc["ask"].get("equals", "")
        return {"text": {"vin_tail": job.vehicle.vin, "plate": job.vehicle.plate}[asked]}
    if step.kind == "number":
        value = {"distance": "41,250 mi", "voltage": "12.6 V", "current": "15 A"}
        if "most" in step.doc["ask"]:
            return {"number": "0.1 V"}
        return {"number": value.get(step.doc["ask"]["quantity"], "40 " + step.doc["ask"]["unit"])}
    return GOOD[step.kind]


@pytest.fixture
def answer_until(answer: Answer) -> Callable[[Job, str], None]:
    """Answer everything well, in the order of the sheet, up to the step `key` (itself not)."""

    def do(job: Job, key: str = "") -> None:
        while True:
            steps = {step.key: step for step in job.steps.filter(retired=False)}
            line = bay.next_step(job)
            if line is None or line.key == key:
                return
            given = answer(job, line.key, **good_answer(job, steps[line.key]))
            assert given.state in ("passed", "declined"), (line.key, given.sentence)

    return do
