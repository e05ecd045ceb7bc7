"""How a battery runs down over the hours of a leg, with its band: plain data for its picture.

``draw(...)`` lays the course out for parts/battery_curve.svg.html. The plot has its own field of
100 by 100 units, stretched to whatever room there is: x is time, y the charge used. Labels stand
outside it, at percents of its width. No Django, no clock, no rows.
"""

import math
from dataclasses import dataclass

from vehicles.domain.bands import Band

PLOT_HEIGHT = 170
TICKS = 6
STEPS = (0.5, 1, 2, 3, 5, 10, 15, 20, 30, 50, 60, 100, 200, 500, 1000)
UNITS = {"h": "hours", "min": "minutes"}
_FULL = 100.0


@dataclass(frozen=True, slots=True)
class Tick:
    """A label at its place across (or down) the plot, in percent."""

    at: float
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Upright:
    """An upright line of the plot, with its word beside its top."""

    at: float
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Curve:
    """The drawing: SVG paths in the plot's own field, and the labels around it.

    ``limit_y`` is where the limit's line stands, None where there is none. ``rows`` is the table
    beside it: time, charge at least, most likely and at most.
    """

    title: str
    words: str
    band: str
    line: str
    limit_y: float | None
    limit_text: str
    marks: tuple[Upright, ...]
    ticks: tuple[Tick, ...]
    unit: str
    rows: tuple[tuple[str, str, str, str], ...]
    plot_height: int = PLOT_HEIGHT


def draw(
    empty: Band,
    *,
    unit: str,
    span: float,
    title: str,
    mark: float | None = None,
    mark_text: str = "",
    limit_percent: float = 0.0,
    verdict: str = "",
) -> Curve:
    """Lay out a battery that is full at 0 and empty after ``empty``, up to ``span``, in ``unit``.

    ``mark`` is the time that it has to last for, ``limit_percent`` the charge that is not to be
    planned with, ``verdict`` a sentence on the two. Raises ValueError for a span that is not
    above 0.
    """
    if not span > 0:
        raise ValueError("a plot needs a time above 0")
    low, likely, high = (_polyline(time, span) for time in (empty.low, empty.value, empty.high))
    marks = [] if mark is None or mark > span else [_upright(mark, span, mark_text)]
    said = [f"Full at 0 {UNITS[unit]}.", _ending(empty, unit), verdict]
    return Curve(
        title=title,
        words=" ".join(part for part in said if part),
        band=f"M{' L'.join(high)} L{' L'.join(reversed(low))}Z",
        line=f"M{' L'.join(likely)}",
        limit_y=_FULL - limit_percent if limit_percent else None,
        limit_text=f"plan to {limit_percent:.0f} %" if limit_percent else "",
        marks=tuple(marks),
        ticks=_ticks(span),
        unit=UNITS[unit],
        rows=_rows(empty, unit, span),
    )


def charge(time: float, empty: float) -> float:
    """Return the charge in percent that is left after ``time`` of a battery that lasts ``empty``.

    One that lasts without end (it is charged while used) stays full.
    """
    if math.isinf(empty):
        return _FULL
    return max(0.0, _FULL * (1 - time / empty)) if empty > 0 else 0.0


def _polyline(empty: float, span: float) -> list[str]:
    """The points of a course: down to where it is empty, then along the floor."""
    times = [0.0, empty, span] if 0 < empty < span else [0.0, span]
    return [f"{_FULL * time / span:.2f} {_FULL - charge(time, empty):.2f}" for time in times]


def _upright(at: float, span: float, text: str) -> Upright:
    percent = round(_FULL * at / span, 2)
    half = 50
    return Upright(percent, text, "start" if percent < half else "end")


def _ticks(span: float) -> tuple[Tick, ...]:
    step = next((step for step in STEPS if span / step <= TICKS), span / TICKS)
    found = []
    for number in range(int(span / step + 1e-9) + 1):
        percent = round(_FULL * number * step / span, 2)
        anchor = "start" if number == 0 else "end" if percent >= _FULL else "middle"
        found.append(Tick(percent, f"{number * step:g}", anchor))
    return tuple(found)


def _ending(empty: Band, unit: str) -> str:
    if math.isinf(empty.value):
        return "It does not run down."
    low, high = f"{empty.low:.1f}", f"{empty.high:.1f}"
    if low == high:
        return f"Empty after {low} {UNITS[unit]}."
    end = f"more than {low}" if math.isinf(empty.high) else f"{low} to {high}"
    return f"Empty after {end} {UNITS[unit]}, most likely {empty.value:.1f}."


def _rows(empty: Band, unit: str, span: float) -> tuple[tuple[str, str, str, str], ...]:
    rows = []
    for tick in _ticks(span):
        time = float(tick.text)
        left = [charge(time, end) for end in (empty.low, empty.value, empty.high)]
        rows.append((f"{tick.text} {unit}", *(f"{percent:.0f} %" for percent in left)))
    return tuple(rows)  # type: ignore[arg-type]
