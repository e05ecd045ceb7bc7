"""A value with its lower and upper bound, and what that is worth against a limit.

A band says "surely between these two", not "one standard deviation": adding and multiplying
takes the worst case (interval arithmetic), because doubts in a vehicle rarely cancel out
(every wire of a harness is as cold as its neighbour). Two bands in which the same doubt
occurs come out wider than need be, never narrower.

A limit is met at equality. Where the limit lies inside the band nobody can tell, and the
verdict says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum

from vehicles.domain.inputs import InputError, number

# Twelve amps over 0.8 must be 15 amps, whatever the last binary digit says.
_EQUAL = 1e-9


class Verdict(StrEnum):
    """The four answers to "is it enough?"; only PASS is good."""

    PASS = "pass"  # noqa: S105 - a verdict, no password
    FAIL = "fail"
    CLOSE = "too close to call"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Band:
    """`value` with `low` <= `value` <= `high`, all in one unit that the maker of it names.

    Raises InputError where the bounds do not enclose the value. `high` may be infinite (a
    battery that is charged while it is used lasts without end); nothing may be NaN.
    """

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise InputError(
                "band", f"{self.value:g} does not lie between {self.low:g} and {self.high:g}."
            )

    @property
    def width(self) -> float:
        """From bound to bound; 0 where there is no doubt."""
        return 0.0 if self.low == self.high else self.high - self.low

    @property
    def certain(self) -> bool:
        """Is there no doubt at all?"""
        return self.low == self.high

    def __neg__(self) -> Band:
        return Band(-self.value, -self.high, -self.low)

    def __add__(self, other: Band | float) -> Band:
        two = band(other)
        return Band(self.value + two.value, self.low + two.low, self.high + two.high)

    __radd__ = __add__

    def __sub__(self, other: Band | float) -> Band:
        return self + -band(other)

    def __rsub__(self, other: float) -> Band:
        return -self + other

    def __mul__(self, other: Band | float) -> Band:
        two = band(other)
        corners = [one * it for one in (self.low, self.high) for it in (two.low, two.high)]
        return Band(self.value * two.value, min(corners), max(corners))

    __rmul__ = __mul__

    def __truediv__(self, other: Band | float) -> Band:
        """Raises InputError where the divisor may be 0."""
        two = band(other)
        if two.low <= 0 <= two.high:
            raise InputError("divisor", "it may be 0, so the quotient can be anything.")
        return self * Band(1 / two.value, 1 / two.high, 1 / two.low)

    def __rtruediv__(self, other: float) -> Band:
        return band(other) / self

    def words(self, unit: str = "", places: int = 2) -> str:
        """`12.30 V (12.10 to 12.45)`; without the bracket where there is no doubt."""
        label = f" {unit}" if unit else ""
        said = f"{self.value:.{places}f}{label}"
        low, high = f"{self.low:.{places}f}", f"{self.high:.{places}f}"
        if low == high:
            return said
        if math.isinf(self.high):
            return f"{said} ({low} or more)"
        return f"{said} ({low} to {high})"


@dataclass(frozen=True, slots=True)
class Unknown:
    """No number, because something is missing: `measure` names it, the deciding thing first."""

    measure: tuple[str, ...]

    @property
    def words(self) -> str:
        """`unknown: measure the wire's length`."""
        return f"unknown: {'; '.join(self.measure)}" if self.measure else "unknown"


def band(value: Band | float) -> Band:
    """Return `value` as a band; a plain number is without doubt. Raises InputError for NaN."""
    if isinstance(value, Band):
        return value
    plain = number("value", value)
    return Band(plain, plain, plain)


def give_or_take(value: float, doubt: float) -> Band:
    """Return `value` with `doubt` (at least 0, the same unit) on either side."""
    centre, half = number("value", value), number("doubt", doubt)
    if half < 0:
        raise InputError("doubt", f"{half:g} was given; it cannot be negative.")
    return Band(centre, centre - half, centre + half)


def spread(function: Callable[[float], float], value: Band | float) -> Band:
    """Return the band of a `function` that only rises or only falls over the band `value`."""
    it = band(value)
    found = (function(it.value), function(it.low), function(it.high))
    return Band(found[0], min(found), max(found))


def hull(bands: Iterable[Band]) -> Band:
    """Return the band around all `bands`, with the first one's value. Raises InputError if none."""
    found = list(bands)
    if not found:
        raise InputError("bands", "there is none to take together.")
    return Band(found[0].value, min(b.low for b in found), max(b.high for b in found))


@dataclass(frozen=True, slots=True)
class Held:
    """A value held against a limit: what was judged, the verdict, and both numbers.

    `value` is None and `measure` says what to find out where the verdict is UNKNOWN. `limit`
    is None where the limit itself is not recorded. `margin` is the room left in the unit of
    the value, negative where the limit is missed, None where either number is missing.
    `words` is one sentence for a person.
    """

    what: str
    verdict: Verdict
    value: Band | None
    limit: Band | None
    unit: str = ""
    margin: Band | None = None
    measure: tuple[str, ...] = ()
    words: str = ""


def _reaches(one: float, other: float) -> bool:
    """Is `one` at least `other`, the last binary digits aside?"""
    if math.isinf(one) or math.isinf(other):
        return one >= other
    return one >= other - _EQUAL * max(1.0, abs(other))


def at_least(
    what: str,
    value: Band | float | Unknown | None,
    limit: Band | float | Unknown | None,
    *,
    unit: str = "",
    places: int = 2,
) -> Held:
    """Hold `value` against a `limit` that it must reach, both in `unit`.

    PASS when the lowest value reaches the highest limit, FAIL when not even the highest value
    reaches the lowest limit, CLOSE between. A missing value or limit is UNKNOWN and names
    what to measure. `places` are the decimals of the sentence.
    """
    return _hold(what, value, limit, unit, places, rising=True)


def at_most(
    what: str,
    value: Band | float | Unknown | None,
    limit: Band | float | Unknown | None,
    *,
    unit: str = "",
    places: int = 2,
) -> Held:
    """Hold `value` against a `limit` that it must not pass; otherwise as `at_least`."""
    return _hold(what, value, limit, unit, places, rising=False)


def _hold(
    what: str,
    value: Band | float | Unknown | None,
    limit: Band | float | Unknown | None,
    unit: str,
    places: int,
    *,
    rising: bool,
) -> Held:
    known = None if value is None or isinstance(value, Unknown) else band(value)
    bound = None if limit is None or isinstance(limit, Unknown) else band(limit)
    if known is None or bound is None:
        measure = _missing(what, value, "measure it") + _missing(what, limit, "record its limit")
        words = f"{what}: unknown; {'; '.join(measure)}."
        return Held(what, Verdict.UNKNOWN, known, bound, unit, None, measure, words)
    margin = known - bound if rising else bound - known
    verdict = _verdict(known, bound) if rising else _verdict(-known, -bound)
    asked = "at least" if rising else "at most"
    words = (
        f"{what}: {known.words(unit, places)}, {asked} {bound.words(unit, places)} wanted: "
        f"{verdict.value}."
    )
    return Held(what, verdict, known, bound, unit, margin, (), words)


def _verdict(value: Band, limit: Band) -> Verdict:
    if _reaches(value.low, limit.high):
        return Verdict.PASS
    return Verdict.CLOSE if _reaches(value.high, limit.low) else Verdict.FAIL


def _missing(what: str, value: Band | float | Unknown | None, ask: str) -> tuple[str, ...]:
    if isinstance(value, Unknown):
        return value.measure or (f"{what}: {ask}",)
    return (f"{what}: {ask}",) if value is None else ()


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict of a whole: any FAIL decides, then UNKNOWN, then CLOSE.

    Nothing judged at all is UNKNOWN, never PASS.
    """
    found = set(verdicts)
    for verdict in (Verdict.FAIL, Verdict.UNKNOWN, Verdict.CLOSE):
        if verdict in found:
            return verdict
    return Verdict.PASS if found else Verdict.UNKNOWN
