"""Measured values over time: which of them are numbers, and where they stand in a small drawing."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

WIDTH, HEIGHT = 460, 90
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 40, 16, 22
_NUMBER = re.compile(r"\s*([-+\u2212]?\d+(?:[.,]\d{1,2})?)\s*([^\d\s.,:/-][^\d]*)?\s*", re.ASCII)
_LEAST = 2  # a single point shows no way


@dataclass(frozen=True)
class Value:
    """One reading: day, number, unit as written (lower case), whether the look was passed."""

    on: date
    number: float
    unit: str
    good: bool


@dataclass(frozen=True)
class Point:
    """Where a value stands in the drawing, with what to write beside it."""

    x: float
    y: float
    text: str
    on: date
    good: bool


@dataclass(frozen=True)
class Trend:
    """A drawing of one value over time. `line` is the points of a polyline."""

    name: str
    unit: str
    points: tuple[Point, ...]
    low: str
    high: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = _LEFT
    floor: int = HEIGHT - _BOTTOM
    ceiling: int = _TOP

    @property
    def line(self) -> str:
        return " ".join(f"{point.x:g},{point.y:g}" for point in self.points)

    @property
    def words(self) -> str:
        """The drawing in words, for who cannot see it."""
        first, last = self.points[0], self.points[-1]
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"{self.name}: {len(self.points)} readings from {first.text}{unit} on "
            f"{first.on.isoformat()} to {last.text}{unit} on {last.on.isoformat()}."
        )


def number_of(told: Any) -> tuple[float, str] | None:
    """Return number and unit of what somebody wrote, None where it is not one number.

    "12,4 V" is 12.4; "12:30 min" and "1,200" can be read in two ways and are none.
    """
    if isinstance(told, bool) or told is None:
        return None
    if isinstance(told, int | float):
        return float(told), ""
    found = _NUMBER.fullmatch(str(told))
    if not found:
        return None
    number = found[1].replace(",", ".").replace("\u2212", "-")
    return float(number), (found[2] or "").strip().lower()


def trends(looks: Iterable[tuple[date, bool, Mapping[str, Any]]]) -> list[Trend]:
    """Return a trend for each value that was read at least twice in the same unit.

    `looks` are (day, passed, values by name) in any order.
    """
    found: dict[tuple[str, str], list[Value]] = {}
    for on, good, values in sorted(looks, key=lambda look: look[0]):
        for name, told in values.items():
            read = number_of(told)
            if read:
                number, unit = read
                found.setdefault((name, unit), []).append(Value(on, number, unit, good))
    return [_drawn(name, unit, rows) for (name, unit), rows in found.items() if len(rows) >= _LEAST]


def _drawn(name: str, unit: str, rows: list[Value]) -> Trend:
    numbers = [row.number for row in rows]
    low, high = min(numbers), max(numbers)
    if low == high:  # a level line runs through the middle
        low, high = low - 1, high + 1
    first, days = rows[0].on, max((rows[-1].on - rows[0].on).days, 1)
    across, down = WIDTH - _LEFT - _RIGHT, HEIGHT - _TOP - _BOTTOM

    def at(row: Value) -> Point:
        x = _LEFT + across * (row.on - first).days / days
        y = _TOP + down * (high - row.number) / (high - low)
        return Point(round(x, 1), round(y, 1), f"{row.number:g}", row.on, row.good)

    return Trend(name, unit, tuple(map(at, rows)), f"{low:g}", f"{high:g}")
