"""An invented range with one kind of part to prove, changed as a person would."""

from datetime import date
from typing import Any

from installs.domain.measured import Measured
from installs.models import ComponentKind, Fitting, Reverification, Standing
from installs.services import parts
from shop import changes
from shop.people.models import Customer
from vehicles.models import Vehicle
from vehicles.records import Actor

MARA = Actor("Mara Voss", 1)
TODAY = date(2026, 11, 25)
BY = {"today": TODAY, "actor": MARA}
FEED_MAP: dict[str, Any] = {
    "terminals": [{"id": "30", "known": "measured"}, {"id": "15R", "known": "measured"}],
    "fuses": [
        {"id": "F08", "rating_a": 7.5, "feed": "terminal:15R", "known": "measured"},
        {"id": "F12", "rating_a": 15, "feed": "terminal:30", "known": "measured"},
        {"id": "F21", "rating_a": 15, "feed": "terminal:30", "known": "measured"},
    ],
}


def procedure(*pulled: str, page: str = "212", key: str = "acc") -> dict[str, Any]:
    source = {"kind": "document", "title": "Owner's manual", "edition": "2019", "page": page}
    steps: list[dict[str, Any]] = [{"no": 1, "action": "key", "value": key}]
    steps += [
        {"no": at, "action": "fuse_out", "target": fuse, "reverse": f"Put {fuse} back."}
        for at, fuse in enumerate(pulled, start=2)
    ]
    steps.append({"no": len(steps) + 1, "action": "lamp_switch", "value": "off"})
    return {"verdict": "allowed", "source": source, "steps": steps}


def own(customer: Customer, **fields: Any) -> Vehicle:
    told = {"kind": "towed", "make": "Alder", "model": "Crestline", "year": 2012, **fields}
    return changes.add_vehicle_for_customer(customer=customer, since=TODAY, **BY, **told)


def fit(
    kind: ComponentKind, vehicle: Vehicle, feed: str = "fuse:F21", serial: str = "T1"
) -> Fitting:
    part = parts.add_component(actor=MARA, kind=kind, serial=serial)
    return changes.fit_component(
        component=part, vehicle=vehicle, since=TODAY, ports=fed(feed), **BY
    )


def fed(feed: str) -> dict[str, Any]:
    return {"supply": {"feed": feed, "ground": "body", "own_fuse_a": 5, "known": "measured"}}


def readings(fitting: Fitting, volts: float = 12.4, minutes: float | None = 40) -> list[Measured]:
    return [Measured(f"c{fitting.component_id}", "supply", "tow", volts, minutes)]


def prove(fitting: Fitting) -> None:
    changes.sign_verification(
        vehicle=fitting.vehicle, measured=readings(fitting), proven_on=TODAY, **BY
    )


def standing(vehicle: Vehicle) -> str:
    return Standing.objects.get(vehicle=vehicle).proof


def asked_of(vehicle: Vehicle) -> list[str]:
    found = Reverification.objects.open().filter(vehicle=vehicle).first()
    return found.differences if found else []
