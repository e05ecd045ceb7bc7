"""The vehicle sheet: one JSON document that carries a towed vehicle for a judgement.

::

    {"pullpin_sheet": 1,
     "vehicle": {"name", "vin", "plate", "year", "make", "model", "engine", "gearbox", "drive",
                "weights": {...}},
     "range": {the model range this feed map and procedure were recorded for},
     "feed_map": {see vehicles/domain/feedmap.py},
     "procedure": {see vehicles/domain/procedure.py},
     "earlier_procedures": [superseded revisions, oldest first],
     "kinds": {code: {see installs/domain/ports.py}},
     "fittings": [{"id", "kind", "serial", "lot", "date_code", "mounted", "ports": {...},
                   "looks": [{"check", "name", "on", "result"}]}],
     "looks": [those at the vehicle as a whole]}

``parse_sheet(data)`` returns a ``Sheet`` or raises ``SheetFaults`` with every fault and its
place: first of the shape (the schemas that ship beside this file and in ``vehicles/domain``),
then of what only the whole can tell (a point that is not on the map, a step that pulls a fuse
the map lacks, feeds in a circle, a kind nobody described). ``Sheet.to_dict`` writes it back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Self

from installs.domain.looks import SeenLook
from installs.domain.ports import FittingPorts, Kind
from vehicles.domain.faults import Fault, load_schema, pointer, schema_faults
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.mapcheck import (
    SCHEMA_FILE,
    feed_map_cross_faults,
    ground_fault,
    point_fault,
    procedure_cross_faults,
)
from vehicles.domain.plain import plain
from vehicles.domain.procedure import Procedure

SHEET_SCHEMA_FILE = Path(__file__).with_name("vehicle_sheet.schema.json")
VERSION = 1


class SheetFaults(ValueError):  # noqa: N818 - it is a list of faults, in the trade's word
    """A sheet that cannot be judged; ``faults`` holds every fault with its place."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


@dataclass(frozen=True)
class Fitting:
    """One fitted part: its kind, its identity, its ports' connections, and looks at it."""

    id: str
    kind: str
    ports: FittingPorts = field(default_factory=FittingPorts)
    serial: str = ""
    lot: str = ""
    date_code: str = ""
    mounted: str = ""
    looks: tuple[SeenLook, ...] = ()
    about: Mapping[str, Any] = field(default_factory=dict)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from one entry of a checked sheet's ``fittings``."""
        ports = FittingPorts.from_dict(data.get("ports", {}))
        return cls(**{**data, "ports": ports, "looks": _looks(data)})

    def to_dict(self) -> dict[str, Any]:
        """The entry as the sheet writes it."""
        written: dict[str, Any] = {"id": self.id, "kind": self.kind}
        for key in ("serial", "lot", "date_code", "mounted"):
            if getattr(self, key):
                written[key] = getattr(self, key)
        if self.ports.ports:
            written["ports"] = self.ports.to_dict()
        if self.looks:
            written["looks"] = [look.to_dict() for look in self.looks]
        if self.about:
            written["about"] = plain(self.about)
        return written


@dataclass(frozen=True)
class Sheet:
    """A checked vehicle sheet."""

    vehicle: Mapping[str, Any]
    feed_map: FeedMap
    procedure: Procedure
    kinds: Mapping[str, Kind] = field(default_factory=dict)
    fittings: tuple[Fitting, ...] = ()
    range: Mapping[str, Any] = field(default_factory=dict)
    earlier_procedures: tuple[Procedure, ...] = ()
    looks: tuple[SeenLook, ...] = ()

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from a document that ``sheet_faults`` found no fault in."""
        return cls(
            vehicle=dict(data["vehicle"]),
            feed_map=FeedMap.from_dict(data["feed_map"]),
            procedure=Procedure.from_dict(data["procedure"]),
            kinds={
                code: Kind.from_dict(kind, code=code)
                for code, kind in data.get("kinds", {}).items()
            },
            fittings=tuple(Fitting.from_dict(item) for item in data.get("fittings", ())),
            range=dict(data.get("range", {})),
            earlier_procedures=tuple(
                Procedure.from_dict(item) for item in data.get("earlier_procedures", ())
            ),
            looks=_looks(data),
        )

    @property
    def name(self) -> str:
        """What the vehicle is called: its name, or year, make, model and plate."""
        if self.vehicle.get("name"):
            return str(self.vehicle["name"])
        parts = (self.vehicle.get(key) for key in ("year", "make", "model", "plate"))
        return " ".join(str(part) for part in parts if part) or "a vehicle without a name"

    def without_fittings(self) -> Self:
        """The same vehicle with nothing fitted."""
        return replace(self, fittings=(), looks=())

    def part_name(self, fitting: Fitting) -> str:
        """What a fitted part is called: its kind, and its number where there are several."""
        name = self.kinds[fitting.kind].name
        if sum(other.kind == fitting.kind for other in self.fittings) > 1:
            return f"{name} {fitting.serial or fitting.id}"
        return name

    def to_dict(self) -> dict[str, Any]:
        """The document; ``parse_sheet`` of it equals this sheet."""
        written: dict[str, Any] = {"pullpin_sheet": VERSION, "vehicle": plain(self.vehicle)}
        if self.range:
            written["range"] = plain(self.range)
        written["feed_map"] = self.feed_map.to_dict()
        written["procedure"] = self.procedure.to_dict()
        if self.earlier_procedures:
            written["earlier_procedures"] = [item.to_dict() for item in self.earlier_procedures]
        if self.kinds:
            written["kinds"] = {code: kind.to_dict() for code, kind in self.kinds.items()}
        if self.fittings:
            written["fittings"] = [item.to_dict() for item in self.fittings]
        if self.looks:
            written["looks"] = [look.to_dict() for look in self.looks]
        return written


def _looks(data: Mapping[str, Any]) -> tuple[SeenLook, ...]:
    return tuple(SeenLook.from_dict(look) for look in data.get("looks", ()))


def _kinds(data: Mapping[str, Any]) -> dict[str, Kind]:
    return {code: Kind.from_dict(kind, code=code) for code, kind in data.get("kinds", {}).items()}


def parse_sheet(data: object) -> Sheet:
    """A sheet from plain JSON values. Raises ``SheetFaults`` with every fault and its place."""
    faults = sheet_faults(data)
    if faults:
        raise SheetFaults(faults)
    return Sheet.from_dict(data)  # type: ignore[arg-type]


def sheet_faults(data: object) -> list[Fault]:
    """Every fault of a sheet; cross checks run for each part whose shape is right."""
    faults = schema_faults(_validator(), data)
    if not isinstance(data, Mapping):
        return faults
    wrong = {fault.place.split("/")[1] for fault in faults if fault.place}
    whole = {key: value for key, value in data.items() if key not in wrong}
    feed_map = FeedMap.from_dict(whole["feed_map"]) if "feed_map" in whole else None
    if feed_map is not None:
        faults += (f.under("/feed_map") for f in feed_map_cross_faults(whole["feed_map"]))
    faults += _procedure_faults(whole, feed_map)
    faults += _range_faults(whole.get("range", {}))
    faults += _look_faults(whole.get("looks", []), "/looks")
    faults += _kind_faults(whole.get("kinds", {}))
    if "kinds" not in wrong:
        faults += _fitting_faults(whole.get("fittings", []), _kinds(whole), feed_map)
    return faults


def _procedure_faults(whole: Mapping[str, Any], feed_map: FeedMap | None) -> Iterator[Fault]:
    if "procedure" in whole:
        for fault in procedure_cross_faults(whole["procedure"], feed_map):
            yield fault.under("/procedure")
    # An earlier revision may name fuses that a corrected map no longer has.
    for at, item in enumerate(whole.get("earlier_procedures", ())):
        for fault in procedure_cross_faults(item, None, in_force=False):
            yield fault.under(pointer(["earlier_procedures", at]))


def validate_ports(data: object, kind: Kind, feed_map: FeedMap | None) -> list[Fault]:
    """Every fault of one fitting's ports object, places counted from it."""
    faults = schema_faults(_validator("fitting_ports"), data)
    return faults or [*_port_faults(data, kind, feed_map)]  # type: ignore[arg-type]


def validate_kind(data: object) -> list[Fault]:
    """Every fault of one kind's JSON object, places counted from it."""
    faults = schema_faults(_validator("kind"), data)
    return faults or [*_port_names_twice(data)]  # type: ignore[arg-type]


@cache
def _validator(part: str = "") -> Any:
    # Imported when first needed: judging alone does not need it, and it is slow to load.
    from jsonschema import Draft202012Validator  # noqa: PLC0415
    from referencing import Registry, Resource  # noqa: PLC0415

    vehicle, sheet = load_schema(SCHEMA_FILE), load_schema(SHEET_SCHEMA_FILE)
    resources = [(item["$id"], Resource.from_contents(item)) for item in (vehicle, sheet)]
    registry: Any = Registry().with_resources(resources)
    reference = sheet["$id"] + (f"#/$defs/{part}" if part else "")
    return Draft202012Validator({"$ref": reference}, registry=registry)


def _range_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    first, last = data.get("year_from"), data.get("year_to")
    if first and last and last < first:
        yield Fault("/range/year_to", f"The range ends in {last}, before it begins in {first}.")


def _kind_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    for code, kind in data.items():
        for fault in _port_names_twice(kind):
            yield fault.under(pointer(["kinds", code]))


def _port_names_twice(data: Mapping[str, Any]) -> Iterator[Fault]:
    names = [port["name"] for port in data.get("ports", ())]
    for at, name in enumerate(names):
        if name in names[:at]:
            yield Fault(pointer(["ports", at, "name"]), f"There are two ports named “{name}”.")


def _fitting_faults(
    data: list[Mapping[str, Any]], kinds: Mapping[str, Kind], feed_map: FeedMap | None
) -> Iterator[Fault]:
    ids = [item["id"] for item in data]
    for at, item in enumerate(data):
        place = pointer(["fittings", at])
        if item["id"] in ids[:at]:
            yield Fault(f"{place}/id", f"Two fittings are called “{item['id']}”.")
        yield from _look_faults(item.get("looks", []), f"{place}/looks")
        kind = kinds.get(item["kind"])
        if kind is None:
            there = ", ".join(kinds) or "none"
            yield Fault(
                f"{place}/kind", f"“{item['kind']}” is not among the sheet's kinds: {there}."
            )
            continue
        for fault in _port_faults(item.get("ports", {}), kind, feed_map):
            yield fault.under(f"{place}/ports")


def _look_faults(data: Iterable[Mapping[str, Any]], place: str) -> Iterator[Fault]:
    for at, look in enumerate(data):
        try:
            date.fromisoformat(look["on"])
        except ValueError:
            yield Fault(f"{place}/{at}/on", f"There is no day “{look['on']}”.")


def _port_faults(data: Mapping[str, Any], kind: Kind, feed_map: FeedMap | None) -> Iterator[Fault]:
    names = [port.name for port in kind.ports]
    for name, port in data.items():
        place = pointer([name])
        if name not in names:
            yield Fault(place, f"{kind.name} has no port “{name}”. It has: {', '.join(names)}.")
        if port.get("in_slot") and not port["feed"].startswith("fuse:"):
            yield Fault(f"{place}/in_slot", "Only a tap at a fuse can sit in the fuse's slot.")
        if (port["feed"] == "own") != (port["ground"] == "own"):
            yield Fault(
                f"{place}/ground", "“own” is for both ends: a part's own battery is its own ground."
            )
        if feed_map is None:
            continue
        for key, fault in (
            ("feed", point_fault(port["feed"], feed_map)),
            ("ground", ground_fault(port["ground"], feed_map)),
        ):
            if fault:
                yield Fault(f"{place}/{key}", fault)
