"""Copper wire: gauges and areas, resistance at a temperature, drop there and back, ampacity.

Lengths are in metres, areas in mm², temperatures in °C. A gauge is a number from 40 down to 0
and on through 00, 000 and 0000, written `14`, `0`, `00`, `1/0` or `2/0`; inside it is a whole
number, with 2/0 as -1. A gauge alone does not tell how much copper there is: wire made of
strands by the SAE constructions holds less than full AWG, so the standard is always named.

Sources: diameter formula of ASTM B258 and constants of IEC 60028 from memory; they give the
areas and solid resistances of NEC chapter 9 table 8, which was read in a copy. SAE strandings
16/30, 19/29, 19/27, 19/25 and 19/23 for 18 to 10 gauge were read on a wiring page.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from vehicles.domain.bands import Band, Unknown, band
from vehicles.domain.inputs import InputError, not_negative, positive, temperature
from vehicles.domain.limit_tables import AMPACITY
from vehicles.domain.limits import limit

SMALLEST_GAUGE, LARGEST_GAUGE = 40, -3
MM2_PER_CMIL = math.pi / 4 * 0.0254**2
METRES_PER_FOOT = 0.3048
# Sizes that are sold as vehicle wire, thinnest first.
TRADE_GAUGES = (22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)
TRADE_MM2 = (0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0)
# Strands and the gauge of each; other sizes follow the pattern of 16 to 10 gauge.
_SAE_STRANDS = {18: (16, 30)}
_SAE_PATTERN = (19, 13)


class Standard(StrEnum):
    """How the size of a wire is meant."""

    AWG = "awg"
    SAE = "sae"
    METRIC = "metric"


def gauge_number(text: str | float) -> int:
    """Return a gauge as a whole number: 14, `"14"`, `"00"` and `"2/0"` (-1).

    Raises InputError for one that does not exist (14.5, 41, 5/0, a negative number).
    """
    spelled = str(text).strip().removesuffix(".0")
    noughts = re.fullmatch(r"([1-4])/0|(0{1,4})", spelled)
    if noughts:
        return 1 - (int(noughts[1]) if noughts[1] else len(spelled))
    found = int(spelled) if re.fullmatch(r"[0-9]{1,2}", spelled) else None
    if found is None or found > SMALLEST_GAUGE:
        raise InputError("gauge", f"there is no gauge “{spelled}”; they run from 40 to 0 and 4/0.")
    return found


def gauge_words(gauge: int) -> str:
    """Return `14 ga`, or `2/0` for -1."""
    return f"{gauge} ga" if gauge > 0 else f"{1 - gauge}/0"


def diameter_mm(gauge: int) -> float:
    """Return the diameter of a solid wire: 0.127 mm · 92^((36 - n)/39). Raises InputError."""
    _in_range(gauge)
    return _drawn_mm(gauge)


def awg_area_mm2(gauge: int) -> float:
    """Return the copper of full AWG in mm². Raises InputError for a gauge that is none."""
    return math.pi / 4 * diameter_mm(gauge) ** 2


def sae_area_mm2(gauge: int) -> float:
    """Return the copper of a strand-made SAE wire in mm²: less than full AWG (16 ga: 6.8 % less).

    18 ga is 16 strands of 30 ga; 16 to 10 ga are 19 strands of the gauge 13 higher. Sizes that
    were not read are taken to follow that pattern. Raises InputError for a gauge that is none.
    """
    _in_range(gauge)
    strands, finer = _SAE_STRANDS.get(gauge, (_SAE_PATTERN[0], gauge + _SAE_PATTERN[1]))
    # The formula goes on beyond 40 ga, where strands are thinner than any wire that is sold.
    return strands * math.pi / 4 * _drawn_mm(finer) ** 2


def area_mm2(standard: Standard, *, gauge: int | None = None, mm2: float | None = None) -> float:
    """Return the copper in mm²: by `gauge` for AWG and SAE, by `mm2` for metric.

    Raises InputError where the size that the standard counts in is missing.
    """
    if standard is Standard.METRIC:
        if mm2 is None:
            raise InputError("cross-section", "a metric wire is given in mm².")
        return positive("cross-section", mm2)
    if gauge is None:
        raise InputError("gauge", "a gauge is needed; read it on the wire's jacket.")
    return awg_area_mm2(gauge) if standard is Standard.AWG else sae_area_mm2(gauge)


def circular_mils(mm2: float) -> float:
    """Return mm² as circular mils (a circle of 0.001 in)."""
    return positive("cross-section", mm2) / MM2_PER_CMIL


def wire_ohms(
    mm2: float,
    length_m: float,
    *,
    at_c: float | None = None,
    lay: float = 1.0,
    ohm_mm2_per_m: float | None = None,
    per_k: float | None = None,
) -> float:
    """Return the resistance in ohms of `length_m` metres of copper of `mm2`.

    R = rho20 · length / area · (1 + alpha · (T - 20)). `at_c` is the wire's temperature in °C,
    `lay` what stranding adds (about 1.02), `ohm_mm2_per_m` the resistivity at 20 °C and `per_k`
    its coefficient; defaults stand in `limits.py`. Raises InputError for a length or area
    that is not above 0, and for a temperature at which the straight line has ended.
    """
    rho = limit("copper_ohm_mm2_per_m") if ohm_mm2_per_m is None else ohm_mm2_per_m
    alpha = limit("copper_per_k") if per_k is None else per_k
    celsius = temperature("wire temperature", limit("wire_temperature_c") if at_c is None else at_c)
    warmth = 1 + alpha * (celsius - 20)
    if warmth <= 0:
        raise InputError("wire temperature", f"{celsius:g} °C is beyond what copper's figures say.")
    metres, copper = positive("wire length", length_m), positive("cross-section", mm2)
    return positive("resistivity", rho) * metres / copper * warmth * positive("lay", lay)


def drop_v(
    amps: float,
    mm2: float,
    *,
    out_m: float,
    back_m: float,
    return_ohm: float = 0.0,
    at_c: float | None = None,
    lay: float = 1.0,
) -> float:
    """Return the volts lost there **and back** at `amps` through copper of `mm2`.

    `out_m` and `back_m` are metres of this wire each way. Where the way back is the body,
    `back_m` is 0 and `return_ohm` its measured or assumed resistance in ohms; both at 0 raise
    InputError, because no current comes back for nothing.
    """
    back = not_negative("wire length back", back_m)
    ground = not_negative("return resistance", return_ohm)
    if back == 0 and ground == 0:
        raise InputError(
            "way back", "give the return wire's length, or the body's resistance; it is never 0."
        )
    length = positive("wire length", out_m) + back
    return not_negative("current", amps) * (wire_ohms(mm2, length, at_c=at_c, lay=lay) + ground)


def needed_cmil(amps: float, feet: float, drop: float, *, k: float | None = None) -> float:
    """Return circular mils by CM = K·I·L/E: `feet` there and back, `drop` in volts.

    K (Ω·cmil/ft, default 10.75) stands for copper at about 29 °C. Raises InputError for values
    that are not above 0.
    """
    constant = positive("K", limit("circular_mil_k") if k is None else k)
    return constant * positive("current", amps) * positive("length", feet) / positive("drop", drop)


def copper_k(at_c: float) -> float:
    """Return K in Ω·cmil/ft from the resistivity of copper at `at_c` °C."""
    return wire_ohms(MM2_PER_CMIL, METRES_PER_FOOT, at_c=at_c)


def ampacity_a(
    standard: Standard,
    *,
    gauge: int | None = None,
    mm2: float | None = None,
    table: Mapping[int, float] = AMPACITY,
) -> float | Unknown:
    """Return the amps that a wire may carry by an owner's `table` (gauge to amps).

    A gauge is looked up as it is marked; a metric wire takes the thickest listed gauge that has
    no more copper. Unknown where the table says nothing about the size.
    """
    if standard is Standard.METRIC:
        copper = area_mm2(standard, mm2=mm2)
        fitting = [row for row in table if awg_area_mm2(row) <= copper]
        found = table[min(fitting)] if fitting else None
        size = f"{copper:g} mm²"
    else:
        number = _in_range(gauge)
        found, size = table.get(number), gauge_words(number)
    if found is None:
        return Unknown((f"enter what {size} wire may carry, from its maker's table",))
    return positive(f"ampacity of {size} wire", found)


@dataclass(frozen=True, slots=True)
class Choice:
    """The thinnest wire that does it. `size` is its mark, `drop_v` in volts, `share` of supply.

    `size` is empty and `words` say why where no listed size does.
    """

    size: str
    mm2: float | None
    drop_v: float | None
    share: float | None
    ampacity_a: float | None
    words: str


def thinnest(
    amps: float,
    *,
    out_m: float,
    back_m: float,
    supply_v: float,
    share: float,
    standard: Standard = Standard.SAE,
    return_ohm: float = 0.0,
    at_c: float | None = None,
    lay: float = 1.0,
    table: Mapping[int, float] | None = None,
) -> Choice:
    """Return the thinnest trade size that keeps the drop within `share` of `supply_v` volts.

    Lengths and `return_ohm` as in `drop_v`. With a `table` the wire must also carry the amps by
    it; sizes that the table does not list are then passed over. Raises InputError for values
    that cannot be.
    """
    wanted = positive("supply", supply_v) * positive("drop limit", share)
    load = positive("current", amps)
    for size, copper, gauge in _sizes(standard):
        drop = drop_v(
            load, copper, out_m=out_m, back_m=back_m, return_ohm=return_ohm, at_c=at_c, lay=lay
        )
        carries: float | None = None
        if table is not None:
            found = ampacity_a(standard, gauge=gauge, mm2=copper, table=table)
            if isinstance(found, Unknown) or found < load:
                continue
            carries = found
        if drop <= wanted * (1 + 1e-9):
            words = f"{size}: {drop:.2f} V lost there and back, {drop / supply_v:.1%} of the supply"
            return Choice(size, copper, drop, drop / supply_v, carries, words)
    return Choice(
        "", None, None, None, None,
        f"no listed size keeps {load:g} A within {wanted:.2f} V; shorten the run or split the load",
    )  # fmt: skip


def drop_band(amps: Band | float, ohms: Band | float) -> Band:
    """Return the band of volts lost by a band of `amps` over a band of `ohms`, neither below 0."""
    current, resistance = band(amps), band(ohms)
    not_negative("current", current.low)
    not_negative("resistance", resistance.low)
    return current * resistance


def _sizes(standard: Standard) -> list[tuple[str, float, int | None]]:
    if standard is Standard.METRIC:
        return [(f"{mm2:g} mm²", mm2, None) for mm2 in TRADE_MM2]
    return [(gauge_words(n), area_mm2(standard, gauge=n), n) for n in TRADE_GAUGES]


def _drawn_mm(gauge: int) -> float:
    return 0.127 * math.pow(92, (36 - gauge) / 39)


def _in_range(gauge: int | None) -> int:
    if gauge is None:
        raise InputError("gauge", "a gauge is needed; read it on the wire's jacket.")
    if gauge != int(gauge) or not LARGEST_GAUGE <= gauge <= SMALLEST_GAUGE:
        raise InputError("gauge", f"there is no gauge “{gauge}”; they run from 40 to 0 and 4/0.")
    return int(gauge)
