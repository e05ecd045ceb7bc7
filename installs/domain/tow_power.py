"""How long the batteries of a set-up last: what draws in the tow state, and what after the pin.

Amps, amp-hours, hours. A current that was measured at the battery replaces the listed ones;
brake strokes come on top of it, because nobody measures while braking.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from installs.domain.needs import Judgement
from installs.domain.ports import KindPort, PortFeed
from installs.domain.sheet import Sheet
from vehicles.domain.answers import Value
from vehicles.domain.bands import Band, Held, Unknown, band
from vehicles.domain.battery import RATED_HOURS, hours_band
from vehicles.domain.endurance import Draw, Endurance, Origin, breakaway_minutes, tow_hours
from vehicles.domain.limit_set import START, Limits

# Assumption of this program, no source: how much of a leg the brake unit is pressing.
BRAKE_DUTY = 0.02
_FULL = 100.0
_MINUTES = 60
_ELSEWHERE = frozenset({"own", "coach"})


@dataclass(frozen=True, slots=True)
class Measured:
    """What a clamp meter read, in amps; None where nobody measured."""

    draw_a: float | None = None
    charge_a: float | None = None
    hold_a: float | None = None


@dataclass(frozen=True, slots=True)
class Cell:
    """A battery: its 20-hour amp-hours and its chemistry, as far as they are recorded."""

    ah: float | None = None
    chemistry: str = ""

    def exponent(self, limits: Limits, otherwise: str = "flooded") -> Band:
        """Peukert's k by the shop's limits; of a battery nobody described that of `otherwise`."""
        code = f"peukert_{self.chemistry}"
        return limits.band(code if code in limits else f"peukert_{otherwise}")

    def capacity(self, limits: Limits) -> Band | None:
        """Its amp-hours, down to what one at the end of its life still has (`old_share`)."""
        if self.ah is None:
            return None
        return self.ah * Band(1.0, limits.value("old_share"), 1.0)


def draws_in_tow(
    sheet: Sheet,
    judgement: Judgement,
    *,
    brakes: frozenset[str],
    measured_a: float | None = None,
    duty: float = BRAKE_DUTY,
) -> tuple[Draw, ...]:
    """Return what takes current from the car's battery in the tow state.

    `brakes` names the fittings that are brake units; they press for `duty` of the time. Without a
    measured current every live port counts with its listed one, and a live load of the car, of
    which none is listed, is a current that nobody knows.
    """
    live = [*_live_ports(sheet, judgement)]
    strokes = tuple(
        Draw(f"{label}, pressing", port.working_a or port.peak_a, duty=duty)
        for name, label, port in live
        if name in brakes
    )
    if measured_a is not None:
        return (Draw("all that is awake", measured_a, Origin.MEASURED), *strokes)
    listed = [Draw(label, _at_rest(port, name in brakes)) for name, label, port in live]
    awake = [
        Draw(load.label, None)
        for load in judgement.loads
        if load.answers["tow"].value is not Value.OFF
    ]
    return (*listed, *strokes, *awake)


def _live_ports(sheet: Sheet, judgement: Judgement) -> Iterator[tuple[str, str, KindPort]]:
    fittings = {fitting.id: fitting for fitting in sheet.fittings}
    for judged in judgement.ports:
        fitting = fittings[judged.component]
        connection = fitting.ports.ports.get(judged.port, PortFeed())
        if judged.answers["tow"].value is Value.OFF or connection.feed in _ELSEWHERE:
            continue
        kind = sheet.kinds[fitting.kind]
        port = next(port for port in kind.ports if port.name == judged.port)
        yield judged.component, judged.label, port


def _at_rest(port: KindPort, is_brake: bool) -> float | None:
    if is_brake:
        return port.standby_a
    return next((amps for amps in (port.working_a, port.standby_a) if amps is not None), None)


def hours_in_tow(
    sheet: Sheet,
    judgement: Judgement,
    *,
    battery: Cell,
    measured: Measured,
    brakes: frozenset[str],
    leg_h: float | None,
    limits: Limits = START,
    duty: float = BRAKE_DUTY,
) -> Endurance:
    """Estimate the hours of the car's battery in the tow state against a leg; see `tow_hours`.

    The low bound is that of a battery at the end of its life.
    """
    draws = draws_in_tow(sheet, judgement, brakes=brakes, measured_a=measured.draw_a, duty=duty)
    line = sheet.feed_map.charge_line is not None
    charge = measured.charge_a if line or measured.charge_a is not None else 0.0
    return tow_hours(
        draws,
        ah=battery.capacity(limits),
        leg_h=leg_h,
        charge_a=charge,
        usable=limits.value("usable_share"),
        exponent=battery.exponent(limits),
    )


def hold_minutes(battery: Cell, hold_a: float | None, *, limits: Limits = START) -> Held:
    """Reckon how long the breakaway battery holds; an old one has less, and so has the low bound.

    The bound is what a battery at the end of its life still has (`old_share`).
    """
    return breakaway_minutes(
        hold_a,
        ah=battery.capacity(limits),
        exponent=battery.exponent(limits, otherwise="agm"),
        least=limits.value("hold_minutes"),
    )


@dataclass(frozen=True, slots=True)
class Course:
    """How a battery runs down: full at 0, empty after `empty` (a band in `unit`).

    `limit_percent` is the charge below which it should not be planned with.
    """

    empty: Band
    unit: str
    limit_percent: float


def course_in_tow(battery: Cell, found: Endurance, *, limits: Limits = START) -> Course | Unknown:
    """Return the course of the car's battery in hours, or what is missing for it."""
    capacity = battery.capacity(limits)
    if found.net_a is None or capacity is None:
        return Unknown(found.held.measure)
    empty = hours_band(
        found.net_a, ah=capacity, exponent=battery.exponent(limits), rated_hours=RATED_HOURS
    )
    return Course(empty, "h", _FULL * (1 - limits.value("usable_share")))


def course_of_hold(held: Held) -> Course | Unknown:
    """Return the course of a breakaway battery in minutes, down to empty."""
    if held.value is None:
        return Unknown(held.measure)
    return Course(band(held.value), "min", 0.0)
