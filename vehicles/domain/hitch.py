"""What is measured on a combination as it stands hitched, and what that is worth.

Masses are kilograms, lengths millimetres; None stands for what nobody measured. Each judgement is
UNKNOWN then and names the tape's place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Any, Self

from vehicles.domain.bands import Held, Verdict
from vehicles.domain.couplings import (
    LENGTH_ORDER,
    Anchor,
    Order,
    anchor_verdict,
    bar_angle,
    bar_level,
    lengths_in_order,
    slack,
)
from vehicles.domain.inputs import InputError, not_negative, positive
from vehicles.domain.limit_set import START, Limits

_MAY_BE_ZERO = frozenset({"bar_rise_mm", "slack_mm", "full_lock_mm", "loop_mm"})


@dataclass(frozen=True, slots=True)
class Hitch:
    """The figures of one combination; `anchor` is where the lanyard is hooked in."""

    ball_mount_kg: float | None = None
    bar_length_mm: float | None = None
    bar_rise_mm: float | None = None
    cables_mm: float | None = None
    lanyard_mm: float | None = None
    cord_mm: float | None = None
    slack_mm: float | None = None
    full_lock_mm: float | None = None
    loop_mm: float | None = None
    anchor: Anchor | None = None

    @classmethod
    def of(cls, record: Any) -> Self:
        """Read the figures off any record with fields of these names and `lanyard_anchor`."""
        names = [field.name for field in fields(cls) if field.name != "anchor"]
        told = {name: getattr(record, name) for name in names}
        anchor = getattr(record, "lanyard_anchor", "")
        return cls(
            **{name: None if value is None else float(value) for name, value in told.items()},
            anchor=Anchor[anchor] if anchor else None,
        )

    def faults(self) -> list[tuple[str, str]]:
        """Return (field, sentence) of every figure that cannot be."""
        return [*self._faults()]

    def _faults(self) -> Iterator[tuple[str, str]]:
        wrong = set()
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name == "anchor" or value is None:
                continue
            check = not_negative if field.name in _MAY_BE_ZERO else positive
            try:
                check("figure", value)
            except InputError as fault:
                wrong.add(field.name)
                yield field.name, f"{fault.reason[:1].upper()}{fault.reason[1:]}"
        if not wrong & {"bar_rise_mm", "bar_length_mm"}:
            try:
                bar_angle(self.bar_rise_mm, self.bar_length_mm)
            except InputError as fault:
                yield "bar_rise_mm", f"{fault.reason[:1].upper()}{fault.reason[1:]}"

    def angle(self, limits: Limits = START) -> Held:
        """Hold the tow bar's angle in degrees against its limit."""
        most = limits.band("bar_rise_mm")
        return bar_level(self.bar_rise_mm, self.bar_length_mm, most_rise_mm=most)

    def order(self) -> Order:
        """Judge whether cables, lanyard and cord come under load in this order."""
        lengths = (self.cables_mm, self.lanyard_mm, self.cord_mm)
        return lengths_in_order(dict(zip(LENGTH_ORDER, lengths, strict=True)))

    def slack(self, limits: Limits = START) -> tuple[Held, Held]:
        """Judge the cables' slack for full lock, and their loop above the ground."""
        return slack(
            straight_mm=self.slack_mm,
            full_lock_mm=self.full_lock_mm,
            loop_mm=self.loop_mm,
            least_loop_mm=limits.value("loop_clearance_mm"),
        )

    def anchored(self) -> tuple[Verdict, str]:
        """Judge where the lanyard is hooked in."""
        return anchor_verdict(self.anchor)
