"""Starting tables of the calculations: rows of two numbers, each table with its source.

As in `limits.py` every table is an owner's setting and an argument of the functions that
read it. Rows are in rising order of the first column.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from vehicles.domain.bands import Band
from vehicles.domain.inputs import InputError, number
from vehicles.domain.limits import ENERGY

_TWO = 2


@dataclass(frozen=True, slots=True)
class Curve:
    """A table of (x, y) rows, x rising, with what the columns are and where they are from.

    Raises InputError for fewer than two rows or for rows out of order.
    """

    code: str
    words: str
    rows: tuple[tuple[float, float], ...]
    x_unit: str
    y_unit: str
    source: str
    from_memory: bool = False
    disputed: bool = False

    def __post_init__(self) -> None:
        for row in self.rows:
            for value in row:
                number(self.words, value)
        if len(self.rows) < _TWO:
            raise InputError(self.words, "a table needs at least two rows.")
        if any(one[0] >= two[0] for one, two in pairwise(self.rows)):
            raise InputError(self.words, "the first column must rise from row to row.")

    @property
    def first(self) -> tuple[float, float]:
        """The row of the smallest x."""
        return self.rows[0]

    @property
    def last(self) -> tuple[float, float]:
        """The row of the largest x."""
        return self.rows[-1]

    def at(self, x: float) -> float:
        """Return y on the straight line between two rows; beyond the ends, the end's y."""
        xs = [row[0] for row in self.rows]
        after = bisect_right(xs, x)
        if after == 0:
            return self.first[1]
        if after == len(xs):
            return self.last[1]
        (x0, y0), (x1, y1) = self.rows[after - 1], self.rows[after]
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

    def step(self, x: float) -> float:
        """Return y of the first row at or above `x`; of the last row beyond the end."""
        return next((y for row_x, y in self.rows if row_x >= x), self.last[1])


def _curve(
    code: str,
    words: str,
    rows: tuple[tuple[float, float], ...],
    units: tuple[str, str],
    source: str,
    *,
    memory: bool = False,
    disputed: bool = False,
) -> Curve:
    return Curve(code, words, rows, *units, source, memory, disputed)


# Rested voltage of a flooded 12 V battery against its charge: three tables that were read,
# and they differ. The first is the starting value; a shop chooses its own per chemistry.
FLOODED = _curve(
    "flooded_1",
    "rested flooded battery, volts to charge",
    ((11.89, 0), (12.06, 25), (12.24, 50), (12.45, 75), (12.65, 100)),
    ("V", "%"),
    "a battery guide with specific gravities 1.120 to 1.265, read in a copy",
    disputed=True,
)
FLOODED_ROUNDED = _curve(
    "flooded_2",
    "rested flooded battery, volts to charge, rounded",
    ((11.6, 0), (12.0, 25), (12.2, 50), (12.4, 75), (12.6, 100)),
    ("V", "%"),
    "a rounded list on a discussion page, read",
    disputed=True,
)
FLOODED_COACH = _curve(
    "flooded_3",
    "rested flooded battery, volts to charge, no row below 25 %",
    ((12.15, 25), (12.30, 50), (12.45, 75), (12.66, 100)),
    ("V", "%"),
    "a coach owners' magazine, read",
    disputed=True,
)
CHARGE_TABLES: Mapping[str, Curve] = {"flooded": FLOODED}

_LOAD_TEST = "handbook of a vehicle maker, read"
LOAD_TEST = _curve(
    "load_test_1",
    "volts at the end of a load test by temperature",
    ((-18, 8.5), (-12, 8.7), (-7, 8.9), (-1, 9.1), (4, 9.3), (10, 9.4), (16, 9.5), (20, 9.6)),
    ("°C", "V"),
    _LOAD_TEST + "; another edition has 18 instead of 16 °C",
    disputed=True,
)
LOAD_TEST_OTHER = _curve(
    "load_test_2",
    "volts at the end of a load test by temperature, second handbook",
    ((-18, 8.0), (-10, 8.8), (0, 9.1), (10, 9.4), (21, 9.6)),
    ("°C", "V"),
    _LOAD_TEST,
    disputed=True,
)

# Amps that a wire may carry, by the gauge marked on it: the short list for building wire is the
# most cautious of those in use, and a maker's figure for the insulation replaces it.
AMPACITY: Mapping[int, float] = {18: 7, 16: 10, 14: 15, 12: 20, 10: 30, 8: 40, 6: 55, 4: 70}
AMPACITY_SOURCE = "building-wire practice: 60 °C column, small-conductor rule"

# Exponent k of t = H·(C/(I·H))^k; the seen ranges, with their middle as the value.
PEUKERT: Mapping[str, Band] = {
    "flooded": Band(1.3, 1.2, 1.6),
    "agm": Band(1.1, 1.05, 1.15),
    "gel": Band(1.15, 1.1, 1.25),
}
PEUKERT_SOURCE = "an article on Peukert's law, read"

# Share of the charge lost per month at 20 °C; it halves for every 10 K less.
SELF_DISCHARGE: Mapping[str, float] = {
    "flooded": 0.06,
    "spiral": 0.04,
    "agm": 0.03,
    "tubular": 0.12,
    "gel": 0.02,
}
SELF_DISCHARGE_SOURCE = ENERGY


def _life(chemistry: str, *years: float) -> Curve:
    rows = tuple(zip((20.0, 25.0, 30.0), years, strict=True))
    return _curve(f"life_{chemistry}", f"life of a {chemistry} battery", rows, ("°C", "y"), ENERGY)


# Years on float or shallow use by temperature; below 20 °C no longer than at 20 °C.
LIFE: Mapping[str, Curve] = {
    "flooded": _life("flooded", 5, 3.6, 2.5),
    "spiral": _life("spiral", 10, 7, 5),
    "agm": _life("agm", 8, 6, 4),
    "tubular": _life("tubular", 10, 7, 5),
    "gel": _life("gel", 5, 3.6, 2.5),
}


@dataclass(frozen=True, slots=True)
class StopClass:
    """A row of the 20 mph table: braking force as a share of weight, ft/s², and feet."""

    code: str
    words: str
    share: float
    feet_per_s2: float
    service_ft: float
    emergency_ft: float
    from_memory: bool = False


STOP_SOURCE = "49 CFR 393.52(d) from memory, its numbers read in 67 Pa. Code 175 table I"
STOP_CLASSES: Mapping[str, StopClass] = {
    row.code: row
    for row in (
        StopClass("A1", "cars for up to 10 people", 0.652, 21, 20, 54),
        StopClass("A2", "people, up to 10,000 lb", 0.528, 17, 25, 66),
        StopClass("A3", "people, everything else", 0.435, 14, 35, 85),
        StopClass("B1", "goods, one unit up to 10,000 lb", 0.528, 17, 25, 66),
        StopClass("B2", "goods, one heavier unit, or two towed in one", 0.435, 14, 35, 85, True),
        StopClass("B3", "goods, other combinations", 0.435, 14, 40, 90),
    )
}
