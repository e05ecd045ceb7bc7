"""12 V batteries: charge from a rested voltage, hours at a current, storage, age.

Volts, amps, amp-hours, hours; charge in percent. Forecasts
are optimistic by nature: cold, age and a tired plate take from them, and reports from the road
are shorter than the arithmetic. So each is a band, is called an estimate, and gives way to
what was measured: a battery that was found flat is flat.

Peukert's law is used in the form that belongs to a rating in amp-hours at a number of hours,
t = H · (C / (I · H))^k. With C taken as the capacity at one ampere it would fall short (a
published page does so). Below the rated current no bonus is given: the law was never meant
to promise more than is in the battery.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date

from vehicles.domain.bands import Band, Held, Unknown, at_most, band, give_or_take, spread
from vehicles.domain.inputs import (
    InputError,
    not_negative,
    number,
    positive,
    share,
    temperature,
)
from vehicles.domain.limit_tables import CHARGE_TABLES, PEUKERT, Curve
from vehicles.domain.limits import limit

RATED_HOURS = 20.0
_FULL = 100.0
_DAYS_A_YEAR = 365.25
# No 12 V battery rests outside these; what lies outside was read on another scale or battery.
_LOWEST_V, _HIGHEST_V = 6.0, 16.0


def charge_percent(
    volts: float | None,
    *,
    chemistry: str | None,
    hours_rested: float | None,
    meter_share: float | None = None,
    rest_hours: float | None = None,
    tables: Mapping[str, Curve] = CHARGE_TABLES,
) -> Band | Unknown:
    """Return the charge in percent that a rested voltage tells, as a band.

    `tables` maps a chemistry to volts against percent; `meter_share` is the meter's error as a
    share of its reading (default 1 %) and is carried through. Unknown where the volts, the
    chemistry, its table or the rest (at least `rest_hours`, default 8 h) is missing. Raises
    InputError for volts that no 12 V battery rests at.
    """
    needed = limit("rest_hours") if rest_hours is None else rest_hours
    if volts is None:
        return Unknown((f"measure the battery's volts after {needed:g} h of rest",))
    if not _LOWEST_V <= number("volts", volts) <= _HIGHEST_V:
        raise InputError("volts", f"{volts:g} V is no resting voltage of a 12 V battery.")
    if not chemistry:
        return Unknown(("read on the battery whether it is flooded, AGM or gel",))
    if chemistry not in tables:
        return Unknown((f"enter the voltage table of the {chemistry} battery's maker",))
    if hours_rested is None:
        return Unknown(("note the hours since the battery was last charged or loaded",))
    if not_negative("hours rested", hours_rested) < needed:
        return Unknown(
            (f"measure again after {needed:g} h of rest; {hours_rested:g} h show surface charge",)
        )
    error = not_negative(
        "meter error", limit("meter_share") if meter_share is None else meter_share
    )
    read = give_or_take(volts, error * volts)
    table = tables[chemistry]
    found = spread(table.at, read)
    first_volts, least = table.first
    if least > 0 and read.low < first_volts:
        # The table ends above empty: below its first row all is possible down to nothing.
        return Band(found.value if volts >= first_volts else 0.0, 0.0, found.high)
    return found


def exponent_from(ah_1: float, hours_1: float, ah_2: float, hours_2: float) -> float:
    """Return Peukert's k from two ratings of one battery: amp-hours at hours of discharge.

    k = (ln H2 - ln H1) / (ln(C1/H1) - ln(C2/H2)). Raises InputError for equal hours, or where
    the slower discharge yields less, which no battery does.
    """
    slow, fast = sorted(
        [
            (positive("hours of a rating", hours_1), positive("capacity", ah_1)),
            (positive("hours of a rating", hours_2), positive("capacity", ah_2)),
        ],
        reverse=True,
    )
    if slow[0] == fast[0]:
        raise InputError("hours of a rating", "two ratings at different hours are needed.")
    if slow[1] < fast[1]:
        raise InputError(
            "capacity", f"{slow[1]:g} Ah in {slow[0]:g} h is less than {fast[1]:g} Ah in less time."
        )
    apart = math.log(fast[1] / fast[0]) - math.log(slow[1] / slow[0])
    return (math.log(slow[0]) - math.log(fast[0])) / apart


def hours_at(amps: float, *, ah: float, exponent: float, rated_hours: float = RATED_HOURS) -> float:
    """Return the hours that a full battery of `ah` (rated over `rated_hours`) gives `amps`.

    t = H · (C/(I·H))^k for currents from the rated one up; below it plainly C / I. Raises
    InputError for values that are not above 0 and for an exponent below 1.
    """
    capacity, hours = positive("capacity", ah), positive("hours of the rating", rated_hours)
    current, k = positive("current", amps), _exponent(exponent)
    return min(hours * math.pow(capacity / (current * hours), k), capacity / current)


def needed_ah(
    amps: float, hours: float, *, exponent: float, rated_hours: float = RATED_HOURS
) -> float:
    """Return the rated amp-hours that hold `amps` for `hours`: the inverse of `hours_at`."""
    current, time = positive("current", amps), positive("hours", hours)
    rating, k = positive("hours of the rating", rated_hours), _exponent(exponent)
    return max(current * rating * math.pow(time / rating, 1 / k), current * time)


def hours_band(
    amps: Band | float,
    *,
    ah: Band | float,
    exponent: Band | float = PEUKERT["flooded"],
    rated_hours: float = RATED_HOURS,
) -> Band:
    """Return the hours of `hours_at` over bands of current, capacity and exponent.

    The low bound takes the largest current, the smallest capacity and the largest exponent.
    Without any current the battery lasts without end. Raises InputError as `hours_at`.
    """
    draw, capacity, k = band(amps), band(ah), band(exponent)
    not_negative("current", draw.low)

    def hours(current: float, size: float, power: float) -> float:
        if current == 0:
            return math.inf
        return hours_at(current, ah=size, exponent=power, rated_hours=rated_hours)

    return Band(
        hours(draw.value, capacity.value, k.value),
        hours(draw.high, capacity.low, k.high),
        hours(draw.low, capacity.high, k.low),
    )


def stored_percent(months: float, *, at_c: float, per_month: float, percent: float = _FULL) -> Band:
    """Return the charge in percent after `months` of storage without a charger at `at_c` °C.

    `per_month` is the share lost in a month at 20 °C; it halves for every 10 K less. Losing
    that share of what is left gives the value, losing it of a full battery every month the low
    bound. Raises InputError for a share or charge that cannot be.
    """
    rate = share("self-discharge", per_month) * 2 ** ((temperature("storage", at_c) - 20) / 10)
    start, time = not_negative("charge", percent), not_negative("months", months)
    if start > _FULL:
        raise InputError("charge", f"{start:g} % was given; it cannot be above 100 %.")
    left = start * max(0.0, 1 - rate) ** time
    return Band(left, min(left, max(0.0, start - _FULL * rate * time)), left)


def months_until(percent: float, *, at_c: float, per_month: float, start: float = _FULL) -> float:
    """Return after how many months of storage the charge surely still is `percent`.

    By the low bound of `stored_percent`, so that a reminder comes rather early than late.
    """
    rate = share("self-discharge", per_month) * 2 ** ((temperature("storage", at_c) - 20) / 10)
    return max(0.0, number("charge", start) - number("charge", percent)) / (_FULL * rate)


def age_years(made: date, *, today: date) -> float:
    """Return the years since a date code's day. Raises InputError for a day in the future."""
    if made > today:
        raise InputError(
            "date code", f"{made.isoformat()} lies in the future; read the mark again."
        )
    return (today - made).days / _DAYS_A_YEAR


def age_held(made: date | None, *, today: date, life: Curve, at_c: float | None) -> Held:
    """Hold a battery's age in years against its usual `life` (years by temperature in °C).

    UNKNOWN without a date code; without a temperature the life at the table's warmest, which is
    the shortest, decides.
    """
    if made is None:
        return at_most("age", Unknown(("read the battery's date code",)), life.last[1], unit="y")
    warm = life.last[0] if at_c is None else temperature("temperature", at_c)
    return at_most("age", age_years(made, today=today), life.at(warm), unit="y", places=1)


def _exponent(value: float) -> float:
    k = number("exponent", value)
    if k < 1:
        raise InputError("exponent", f"{k:g} was given; Peukert's exponent is at least 1.")
    return k
