"""What a kind of part needs at its ports, and where a fitted part's ports are connected.

JSON forms (schema: ``kind`` and ``fitting_ports`` in ``vehicle_sheet.schema.json``):

``Kind.from_dict(data, code=...)`` reads ``{"name", "duty", "ports": [...], "cures": [...],
"cure_text"}``, the duty one of ``installs.domain.looks.Duty``;
a port is ``{"name", "demand": {"drive", "tow", "breakaway"}, "with_pedal": {...}, "min_supply_a",
"standby_a", "working_a", "peak_a", "consequence", "severity"}``.

``FittingPorts.from_dict(data)`` reads an object from port name to ``{"feed", "ground",
"in_slot", "own_fuse_a", "wire": {"awg" | "mm2", "length_m"}, "known"}``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Self

from vehicles.domain.plain import Plain, plain

ON, OFF, ANY, NOT_RECORDED = "on", "off", "any", "not_recorded"


@dataclass(frozen=True)
class KindPort(Plain):
    """One port of a kind: its demand per state, its currents, and what follows if unmet.

    ``demand`` is judged with the brake pedal at rest, ``with_pedal`` (where given) with the
    pedal pressed; a state that is not named is ``any``, except that a tow state nobody wrote
    about in ``demand`` is ``not_recorded``. ``peak_a`` is the largest current it draws,
    ``min_supply_a`` the smallest rating that must stand behind the point that feeds it.
    """

    ALWAYS: ClassVar[frozenset[str]] = frozenset({"demand"})

    name: str
    demand: Mapping[str, str] = field(default_factory=dict)
    with_pedal: Mapping[str, str] = field(default_factory=dict)
    min_supply_a: float | None = None
    standby_a: float | None = None
    working_a: float | None = None
    peak_a: float | None = None
    consequence: str = ""
    severity: str = "WARNING"

    def wants(self, state: str, *, pedal: bool = False) -> str:
        """``on``, ``off``, ``any`` or ``not_recorded`` in this state."""
        if pedal:
            return self.with_pedal.get(state, ANY)
        return self.demand.get(state, NOT_RECORDED if state == "tow" else ANY)


@dataclass(frozen=True)
class Kind:
    """A kind of part. ``cures`` lists the finding codes that adding one would cure.

    ``duty`` says what hangs on it (``installs.domain.looks.Duty``); empty where nobody said.
    """

    code: str
    name: str
    ports: tuple[KindPort, ...] = ()
    cures: tuple[str, ...] = ()
    cure_text: str = ""
    duty: str = ""
    about: Mapping[str, Any] = field(default_factory=dict)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any], *, code: str) -> Self:
        """Build from a kind's JSON object; ``about`` is carried along and not judged."""
        return cls(
            code=code,
            name=data.get("name", code),
            ports=tuple(KindPort.from_dict(port) for port in data.get("ports", ())),
            cures=tuple(data.get("cures", ())),
            cure_text=data.get("cure_text", ""),
            duty=data.get("duty", ""),
            about=data.get("about", {}),
        )

    def to_dict(self) -> dict[str, Any]:
        """The JSON object; the code is its key in the sheet."""
        written: dict[str, Any] = {"name": self.name}
        if self.duty:
            written["duty"] = self.duty
        if self.ports:
            written["ports"] = [port.to_dict() for port in self.ports]
        if self.cures:
            written["cures"] = list(self.cures)
        if self.cure_text:
            written["cure_text"] = self.cure_text
        if self.about:
            written["about"] = plain(self.about)
        return written


@dataclass(frozen=True)
class PortFeed(Plain):
    """Where one port of a fitted part is connected.

    ``in_slot``: a piggyback tap that sits in the fuse's own slot and goes out with the fuse.
    ``known``: ``measured`` or ``document`` (recorded at the work); ``assumed`` is UNKNOWN.
    """

    ALWAYS: ClassVar[frozenset[str]] = frozenset({"feed", "ground"})

    feed: str = "unknown"
    ground: str = "unknown"
    in_slot: bool = False
    own_fuse_a: float | None = None
    wire: Mapping[str, float] | None = None
    known: str = "document"


@dataclass(frozen=True)
class FittingPorts:
    """All recorded ports of one fitted part, by the port names of its kind."""

    ports: Mapping[str, PortFeed] = field(default_factory=dict)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from an object of port objects that ``validate_ports`` found no fault in."""
        return cls({name: PortFeed.from_dict(port) for name, port in data.items()})

    def to_dict(self) -> dict[str, Any]:
        """The JSON object; ``from_dict`` of it equals this value."""
        return {name: port.to_dict() for name, port in self.ports.items()}
