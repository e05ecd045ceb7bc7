"""Tests done on a battery with a meter: load test, hold test, charge line, a pin left out.

A lamp or a button that shows green is no test: what was not measured under load is UNKNOWN.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from vehicles.domain.bands import Band, Held, Unknown, Verdict, at_least, band, give_or_take, worst
from vehicles.domain.inputs import not_negative, positive, temperature
from vehicles.domain.limit_tables import LOAD_TEST, Curve
from vehicles.domain.limits import limit


def load_test_amps(*, cca: float | None = None, ah: float | None = None) -> float | Unknown:
    """Return the amps of a load test: half the CCA, or 3 A per amp-hour where none is marked."""
    if cca is not None:
        return positive("CCA", cca) * limit("test_cca_share")
    if ah is not None:
        return positive("capacity", ah) * limit("test_ah_share")
    return Unknown(("read the cold-cranking amps or the amp-hours on the battery",))


def load_test(
    volts: float | None,
    *,
    at_c: float | None,
    seconds: float | None,
    charge_percent: Band | Unknown | None,
    meter_share: float = 0.0,
    table: Curve = LOAD_TEST,
) -> Held:
    """Hold the volts at the end of a load test against the limit at the battery's temperature.

    Between two rows of `table` (°C to volts) the warmer one counts, which asks for more.
    UNKNOWN where volts, temperature or length are missing, the load stood for less than 15 s, or
    the battery was not at least 75 % charged before. `meter_share` is the meter's error.
    """
    missing = _unready(volts, at_c, seconds, charge_percent)
    reading: Band | Unknown = Unknown(missing)
    if volts is not None and not missing:
        reading = give_or_take(volts, abs(volts) * not_negative("meter error", meter_share))
    bound = None if at_c is None else table.step(temperature("battery temperature", at_c))
    # Without a temperature the limit is not missing from the table: it is the reading's fault.
    return at_least("load test", reading, table.last[1] if bound is None else bound, unit="V")


def _unready(
    volts: float | None,
    at_c: float | None,
    seconds: float | None,
    charge_percent: Band | Unknown | None,
) -> tuple[str, ...]:
    least, length = limit("test_charge_share") * 100, limit("test_seconds")
    found = []
    if volts is None:
        found.append("measure the volts at the end of the load test")
    if at_c is None:
        found.append("measure the battery's temperature")
    if seconds is None or not_negative("length of the test", seconds) < length:
        found.append(f"keep the load on for {length:g} s")
    if charge_percent is None or isinstance(charge_percent, Unknown):
        found.append("find its charge first")
    elif charge_percent.value < least:
        found.append(f"charge it to {least:g} % first, then test")
    return tuple(found)


def hold_test(
    minutes: float | None, *, lamp_only: bool = False, least: float | None = None
) -> Held:
    """Judge a test in which the pin was out and the brakes were watched for `minutes`.

    Equal to `least` (default 15) passes. None, or a battery lamp or button alone (`lamp_only`),
    is UNKNOWN: not load-tested.
    """
    wanted = positive("holding time", limit("hold_minutes") if least is None else least)
    read: float | Unknown
    if lamp_only:
        read = Unknown(("not load-tested: pull the pin and time how long the brakes hold",))
    elif minutes is None:
        read = Unknown(("not tested: pull the pin and time how long the brakes hold",))
    else:
        read = not_negative("minutes held", minutes)
    return at_least("brakes held", read, wanted, unit="min")


@dataclass(frozen=True, slots=True)
class LineCheck:
    """A charge line judged by three readings; only `verdict` PASS is good."""

    verdict: Verdict
    readings: tuple[Held, ...]
    measure: tuple[str, ...]


def charge_line_check(
    *,
    line_v: float | None,
    rest_v: float | None,
    loaded_v: float | None,
    least_line_v: float | None = None,
    least_rest_v: float | None = None,
    least_loaded_v: float | None = None,
) -> LineCheck:
    """Judge a charge line: its volts, the rested battery's, and the volts while the unit works.

    A good reading on the line alone proves nothing: a weak battery behind it still sinks when
    the brake unit's pump starts. The missing reading makes it UNKNOWN and is named.
    """
    line = limit("line_volts") if least_line_v is None else least_line_v
    rest = limit("line_rest_volts") if least_rest_v is None else least_rest_v
    loaded = limit("port_volts") if least_loaded_v is None else least_loaded_v
    asked = (
        ("charge line", line_v, line, "measure the charge line's volts at the car"),
        ("rested battery", rest_v, rest, "measure the battery's volts at rest"),
        ("loaded", loaded_v, loaded, "measure the volts while the brake unit works"),
    )
    held = tuple(
        at_least(what, Unknown((ask,)) if volts is None else volts, least, unit="V")
        for what, volts, least, ask in asked
    )
    measure = tuple(ask for reading in held for ask in reading.measure)
    return LineCheck(worst(reading.verdict for reading in held), held, measure)


class FollowUp(NamedTuple):
    """What has to be done after an incident, and why."""

    do: str
    why: str


@dataclass(frozen=True, slots=True)
class PinOut:
    """A breakaway pin that was out: amp-hours taken, and what has to be looked at now."""

    used_ah: Band | None
    follow_up: tuple[FollowUp, ...]


def pin_left_out(hours: float | None, *, amps: Band | float | None = None) -> PinOut:
    """Reckon what a pin left out took, in amp-hours, and list the work that follows.

    `amps` defaults to about 12 A. Recharging alone is not enough: the switch carried its full
    current all that time. Without the hours the use is unknown and the list is the same.
    """
    current = band(limit("pin_out_a") if amps is None else amps)
    positive("current", current.low)
    used = None if hours is None else current * not_negative("hours", hours)
    taken = "for an unknown time" if used is None else f"about {used.value:.0f} Ah"
    return PinOut(
        used,
        (
            FollowUp("Charge the battery and load-test it.", f"It was drained: {taken}."),
            FollowUp("Look at the breakaway switch for heat damage and test it.",
                     f"It carried about {current.value:g} A without a break."),
            FollowUp("Put the pin back and see that the brakes are released.",
                     "Brakes that drag wear and burn."),
        ),
    )  # fmt: skip
