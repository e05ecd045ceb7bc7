"""A tow procedure: ordered steps with their reverse steps, limits, and where it comes from.

``Procedure.from_dict`` / ``Procedure.to_dict`` carry the JSON form that the vehicle sheet and
the database store (schema: ``procedure`` in ``vehicle.schema.json``). Of a step:

=====================  ============================================================
``key``                ``value``: ``off``, ``removed`` (off and out), ``acc``, ``on``, ``start``,
                       ``unknown`` (the source names no position)
``fuse_out``           ``target``: the fuse; ``reverse``: what puts it back
``disconnect_open``    ``value``: ``positive`` or ``negative``, the leg, unless the map has it
``parking_brake``      ``value``: ``set`` or ``release``
``engine_run, wait``   ``value``: minutes
``lamp_switch``        ``value``: ``off``, ``on`` or ``auto``
``gear``,              ``value``: the position, in the maker's word
``transfer_case``
``charge_connect``,    no value; ``other`` needs a text
``other``
=====================  ============================================================

``after`` lists steps that must come before this one, ``needs_live`` names a point that must
be alive while the step is done.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Self

from vehicles.domain.feedmap import FeedMap
from vehicles.domain.plain import Plain
from vehicles.domain.state import State, breakaway_of, drive_state
from vehicles.domain.stepwords import PULL, doubted_fuses

ALLOWED, NOT_ALLOWED, NOT_ESTABLISHED = "allowed", "not_allowed", "not_established"
VERIFIED_SOURCES = ("document", "bulletin", "measured")
# The figures of ``Limits``: what each is called, and its unit.
LIMIT_WORDS = {
    "max_speed_mph": ("Top speed", " mph"),
    "max_distance_mi": ("Longest distance", " miles"),
    "engine_run_every_h": ("Hours between engine runs", " h"),
    "engine_run_minutes": ("Length of an engine run", " min"),
}


@dataclass(frozen=True)
class Step(Plain):
    """One numbered step; see the module's table for what ``target`` and ``value`` hold."""

    no: int
    action: str
    target: str = ""
    value: str | float | None = None
    text: str = ""
    reverse: str = ""
    after: tuple[int, ...] = ()
    needs_live: str = ""

    @property
    def words(self) -> str:
        """The step in words: its own text, or the action spelled out."""
        if self.text:
            return self.text
        value = f"{self.value:g}" if isinstance(self.value, (int, float)) else self.value or ""
        spelled = {
            "key": "Take the key out" if value == "removed" else f"Turn the key to {value.upper()}",
            "fuse_out": PULL.format(self.target),
            "disconnect_open": "Open the battery disconnect",
            "charge_connect": "Connect the charge line from the coach",
            "gear": f"Put the selector in {value}",
            "transfer_case": f"Put the transfer case in {value}",
            "parking_brake": f"{'Release' if value == 'release' else 'Set'} the parking brake",
            "engine_run": f"Run the engine for {value} minutes",
            "wait": f"Wait {value} minutes",
            "lamp_switch": f"Turn the lamp switch to {value.upper()}",
        }
        return spelled.get(self.action, self.target or self.action)


@dataclass(frozen=True)
class Limits(Plain):
    """Limits while towed, in the units the source gives: mph, miles, hours, minutes."""

    max_speed_mph: float | None = None
    max_distance_mi: float | None = None
    engine_run_every_h: float | None = None
    engine_run_minutes: float | None = None
    daily_repeat: bool = False
    direction: str = ""


@dataclass(frozen=True)
class Source(Plain):
    """Where a procedure was read, when and by whom. ``read_on`` is an ISO date.

    Without a ``kind`` nobody recorded a source, which counts as unverified.
    """

    kind: str = ""
    title: str = ""
    edition: str = ""
    page: str = ""
    read_on: str = ""
    read_by: str = ""

    @property
    def verified(self) -> bool:
        """False for hearsay, which may not be printed as a card."""
        return self.kind in VERIFIED_SOURCES


@dataclass(frozen=True)
class Procedure:
    """``verdict`` (``allowed``, ``not_allowed``, ``not_established``), steps, limits, source."""

    verdict: str
    source: Source = field(default_factory=Source)
    steps: tuple[Step, ...] = ()
    limits: Limits = field(default_factory=Limits)
    note: str = ""

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from a document that ``validate_procedure`` found no fault in."""
        steps = [Step.from_dict(step) for step in data.get("steps", ())]
        return cls(
            verdict=data["verdict"],
            source=Source.from_dict(data.get("source", {})),
            steps=tuple(sorted(steps, key=lambda step: step.no)),
            limits=Limits.from_dict(data.get("limits", {})),
            note=data.get("note", ""),
        )

    def to_dict(self) -> dict[str, Any]:
        """The JSON form; ``from_dict`` of it equals this procedure."""
        written: dict[str, Any] = {"verdict": self.verdict}
        if self.source != Source():
            written["source"] = self.source.to_dict()
        if self.steps:
            written["steps"] = [step.to_dict() for step in self.steps]
        if self.limits != Limits():
            written["limits"] = self.limits.to_dict()
        if self.note:
            written["note"] = self.note
        return written

    @property
    def may_be_printed(self) -> bool:
        """Whether a card may be printed from it: allowed, and from a documented source."""
        return self.verdict == ALLOWED and self.source.verified

    def reverse_steps(self) -> tuple[tuple[int, str], ...]:
        """What undoes the procedure, last step first: (number of the step undone, words)."""
        return tuple((s.no, s.reverse) for s in reversed(self.steps) if s.reverse)


def state_after(steps: Iterable[Step], start: State | None = None) -> State:
    """The state once ``steps`` are done, from ``start`` (default: drive, key on).

    The charge line is not connected until a step says so only at the start; a procedure that
    ends without saying anything about it leaves it unknown, see ``tow_state``.
    """
    state = start or replace(drive_state(), name="tow")
    fuses = dict(state.fuses_out)
    because = dict(state.because)
    changes: dict[str, Any] = {}
    for step in steps:
        if step.action == "key":
            position = "off" if step.value == "removed" else str(step.value)
            changes["key"] = None if position == "unknown" else position
            changes["key_removed"] = step.value == "removed"
            because["key"] = step.no
        elif step.action == "fuse_out":
            fuses[step.target] = step.no
        elif step.action == "disconnect_open":
            changes["disconnect_open"] = True
            changes["disconnect_leg"] = str(step.value) if step.value else None
            because["disconnect"] = step.no
        elif step.action == "charge_connect":
            changes["charge_connected"] = True
            because["charge"] = step.no
        elif step.action == "lamp_switch":
            changes["lamp_switch"] = str(step.value)
            because["lamp_switch"] = step.no
        elif step.action == "gear":
            changes["reverse_gear"] = False
    return replace(state, fuses_out=fuses, because=because, **changes)


def tow_state(procedure: Procedure, feed_map: FeedMap | None = None) -> State:
    """The tow state of this procedure. What it does not say stays unknown, never a default.

    ``feed_map`` tells which fuses the steps' words name beside those that they pull.
    """
    if procedure.verdict == NOT_ALLOWED:
        return State("tow", unsettled="towing on its own wheels is not allowed for this vehicle")
    if procedure.verdict != ALLOWED:
        return State("tow", unsettled="no tow procedure is established for this vehicle")
    state = state_after(procedure.steps)
    silent: dict[str, Any] = {"doubted": doubted_fuses(procedure.steps, feed_map)}
    if "key" not in state.because:
        silent["key"] = None
    if "charge" not in state.because:
        silent["charge_connected"] = None
    return replace(state, **silent)


def states_of(procedure: Procedure, feed_map: FeedMap | None = None) -> dict[str, State]:
    """The three states that are judged: ``drive``, ``tow``, ``breakaway``."""
    tow = tow_state(procedure, feed_map)
    return {"drive": drive_state(), "tow": tow, "breakaway": breakaway_of(tow)}


def steps_before(steps: Sequence[Step], number: int) -> tuple[Step, ...]:
    """The steps that stand before step ``number``, in order."""
    return tuple(step for step in steps if step.no < number)
