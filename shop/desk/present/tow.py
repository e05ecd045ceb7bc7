"""The tow sheet of a combination: chain, lengths as hitched, and how long its power lasts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from installs.domain.tow_chain import BallMount, Coach, Combined, RatedPart, Towed, combine
from installs.domain.tow_power import (
    Cell,
    Course,
    Measured,
    course_in_tow,
    course_of_hold,
    hold_minutes,
    hours_in_tow,
)
from installs.models import Component, ComponentKind
from installs.reads import component_name
from shop.desk.pictures import battery_curve, chain
from shop.desk.vehicle_reads import TowedVehicle
from shop.units_shown import US
from vehicles.domain.bands import Held, Unknown, Verdict
from vehicles.domain.hitch import Hitch
from vehicles.domain.inputs import InputError
from vehicles.domain.limit_set import Limits
from vehicles.domain.ratings import Basis, Part
from vehicles.models import Combination, Reading, Vehicle

Role = ComponentKind.Role
PARTS = {
    Role.TOW_BAR: Part.TOW_BAR,
    Role.BASE_PLATE: Part.BASE_PLATE,
    Role.SAFETY_CABLES: Part.SAFETY_CABLES,
    Role.COUPLER: Part.COUPLER,
    Role.BRAKE_UNIT: Part.BRAKE_UNIT,
}
BASES = {
    Component.RatingBasis.BREAKING: Basis.BREAKING,
    Component.RatingBasis.WORKING: Basis.WORKING,
}
WORDS = {
    Verdict.PASS: ("good", "holds"),
    Verdict.FAIL: ("bad", "fails"),
    Verdict.CLOSE: ("doubt", "too close to call"),
    Verdict.UNKNOWN: ("doubt", "unknown"),
}
# Beyond the leg by this share, so that what comes after it can be seen.
BEYOND, IN_SIGHT = 1.5, 6
MM_AN_INCH = 25.4
LONGEST_CURVE_H = 240.0
HOLD_CURVE_MIN = 60.0


@dataclass(frozen=True)
class Line:
    """One judged figure: what it is, how it stands, the sentence, and the limit's source."""

    what: str
    tone: str
    verdict: str
    words: str
    source: str = ""


@dataclass(frozen=True)
class Lasting:
    """How long a battery lasts: the judged line, its curve (None: unknown), what to measure."""

    line: Line
    curve: battery_curve.Curve | None
    missing: tuple[str, ...]
    estimate: str = ""


def combined_of(pair: Combination, page: TowedVehicle, *, unit: str) -> Combined:
    """Judge the chain of a combination by what the records hold. `unit` is lb or kg."""
    coach, towed, limits = pair.motorhome, pair.towed, page.limits
    mount = pair.ball_mount
    return combine(
        Coach(
            gcwr_kg=_number(coach.gcwr_kg),
            gvwr_kg=_number(coach.gvwr_kg),
            scaled_kg=_scaled(coach),
            label_kg=_number(coach.hitch_rating_kg),
            receiver_kg=_number(coach.receiver_kg),
        ),
        Towed(scaled_kg=_scaled(towed), gvwr_kg=_number(towed.gvwr_kg)),
        BallMount(
            there=None if not mount else mount == Combination.BallMount.THERE,
            rating_kg=_number(pair.ball_mount_kg),
        ),
        rated_parts(page),
        unit=unit,
        basis=limits["coach_basis"].choice,
        rule=limits["cable_rule"].choice,
        scale_share=limits.value("scale_share"),
    )


def rated_parts(page: TowedVehicle) -> list[RatedPart]:
    """Return the fitted parts that are links of the chain, with what is read off their labels."""
    found = []
    for fitting in page.fittings:
        component = fitting.component
        part = PARTS.get(Role(component.kind.role)) if component.kind.role else None
        if part is not None:
            basis = BASES.get(Component.RatingBasis(component.rating_basis))
            found.append(
                RatedPart(
                    part,
                    component.kind.name.lower() if part is Part.COUPLER else "",
                    _number(component.rating_kg),
                    _number(component.least_kg),
                    basis,
                )
            )
    return found


def picture(combined: Combined, *, unit: str) -> chain.ChainPicture:
    """Draw the chain."""
    return chain.draw(combined.chain, unit=unit)


def rating_rows(pair: Combination, page: TowedVehicle) -> list[dict[str, str]]:
    """Return every rating as typed, with where it is read: what, value, source."""
    coach, towed = pair.motorhome, pair.towed
    rows = [
        _rating(coach, "gcwr_kg", "GCWR of the coach", "its label"),
        _rating(coach, "gvwr_kg", "GVWR of the coach", "its label"),
        _rating(coach, "weight_kg", "Weight of the coach", coach.get_weight_kind_display()),
        _rating(coach, "hitch_rating_kg", "Hitch label of the coach", "its label"),
        _rating(coach, "receiver_kg", "Receiver", "stamped on it"),
        _mount(pair),
    ]
    for fitting in page.fittings:
        component = fitting.component
        if component.kind.role in PARTS:
            source = component.rating_source or component.get_rating_basis_display()
            rows.append(_rating(component, "rating_kg", str(component), source))
    rows += [
        _rating(towed, "gvwr_kg", "GVWR of the towed vehicle", "its label"),
        _rating(towed, "weight_kg", "Weight of the towed vehicle", towed.get_weight_kind_display()),
    ]
    return rows


def _mount(pair: Combination) -> dict[str, str]:
    """The ball mount's rating, or that there is none to be rated."""
    what, there = "Ball mount or drop", pair.get_ball_mount_display()
    if pair.ball_mount == Combination.BallMount.NONE:
        return {"what": what, "value": "none", "source": there.partition(": ")[2]}
    return _rating(pair, "ball_mount_kg", what, there)


def _rating(record: Any, name: str, what: str, source: str) -> dict[str, str]:
    value, typed = getattr(record, name), record.as_typed.get(name)
    if value is None:
        return {"what": what, "value": "", "source": ""}
    told = f"{typed['number']} {typed['unit']}" if typed else f"{value.normalize():f} kg"
    return {"what": what, "value": told, "source": source}


def hitch_lines(pair: Combination, limits: Limits, *, units: str = US) -> list[Line]:
    """Judge what was measured on the combination as it stands hitched."""
    hitch = Hitch.of(pair)
    try:
        held = [hitch.angle(limits), *hitch.order().pairs, *hitch.slack(limits)]
    except InputError as fault:
        # The form refuses such figures; a hand in the database does not.
        return [Line("Measured as hitched", "bad", "cannot be", str(fault))]
    sources = [limits["bar_rise_mm"].source_words, *[""] * (len(held) - 1)]
    lines = [line_of(item, source, units=units) for item, source in zip(held, sources, strict=True)]
    verdict, words = hitch.anchored()
    tone, said = WORDS[verdict]
    return [*lines, Line("Where the lanyard is hooked in", tone, said, words)]


def line_of(held: Held, source: str = "", *, units: str = US) -> Line:
    """Return a judged figure as a line; its own name is not said twice."""
    tone, said = WORDS[held.verdict]
    words = held.words.removeprefix(f"{held.what}: ").removeprefix("unknown; ")
    if held.unit == "mm" and units == US and held.value is not None and held.limit is not None:
        # The sentence of the domain is in its canonical unit.
        have, want = held.value.value / MM_AN_INCH, held.limit.value / MM_AN_INCH
        words = (
            f"{have:.1f} in, more than {want:.1f} in wanted."
            if "longer" in held.what
            else (f"{have:.1f} in, at least {want:.1f} in wanted.")
        )
    return Line(sentence(held.what), tone, said, sentence(words), source)


def sentence(words: str) -> str:
    """Return `words` with a capital letter in front, the rest as it is."""
    return f"{words[:1].upper()}{words[1:]}"


def lasting_in_tow(
    page: TowedVehicle, readings: Mapping[str, float], *, leg_h: float | None
) -> Lasting:
    """Estimate how long the car's battery lasts in the tow state, against a leg in hours."""
    towed = page.vehicle
    cell = Cell(_number(towed.battery_ah), towed.battery_type)
    found = hours_in_tow(
        page.now.sheet,
        page.now.judgement,
        battery=cell,
        measured=Measured(
            draw_a=readings.get(Reading.What.DRAW), charge_a=readings.get(Reading.What.CHARGE)
        ),
        brakes=_brakes(page),
        leg_h=leg_h,
        limits=page.limits,
    )
    course = course_in_tow(cell, found, limits=page.limits)
    line = line_of(found.held, page.limits["usable_share"].source_words)
    if isinstance(course, Unknown):
        return Lasting(line, None, course.measure)
    # Down to empty, unless the leg would then be too short to be seen.
    most = LONGEST_CURVE_H if leg_h is None else IN_SIGHT * leg_h
    span = max(BEYOND * (leg_h or 0.0), min(most, BEYOND * _finite(course)))
    curve = battery_curve.draw(
        course.empty,
        unit="h",
        span=span,
        title="The car's battery over the hours of a leg",
        mark=leg_h,
        mark_text=f"leg of {leg_h:g} h" if leg_h else "",
        limit_percent=course.limit_percent,
        verdict=found.held.words,
    )
    return Lasting(line, curve, found.held.measure, found.words)


def lasting_hold(page: TowedVehicle, readings: Mapping[str, float]) -> Lasting | None:
    """Reckon how long the breakaway battery holds; None where none is fitted."""
    batteries = [
        fitting.component
        for fitting in page.fittings
        if fitting.component.kind.role == Role.BREAKAWAY_BATTERY
    ]
    if not batteries:
        return None
    cell = Cell(_number(batteries[0].capacity_ah))
    held = hold_minutes(cell, readings.get(Reading.What.HOLD), limits=page.limits)
    course = course_of_hold(held)
    line = line_of(held, page.limits["hold_minutes"].source_words)
    if isinstance(course, Unknown):
        return Lasting(line, None, course.measure)
    curve = battery_curve.draw(
        course.empty,
        unit="min",
        span=max(HOLD_CURVE_MIN, min(_finite(course) * BEYOND, LONGEST_CURVE_H)),
        title="The breakaway battery, pin pulled",
        mark=page.limits.value("hold_minutes"),
        mark_text=f"{page.limits.value('hold_minutes'):g} min",
        verdict=held.words,
    )
    return Lasting(line, curve, held.measure, "Reckoned; only a test under load proves it.")


def readings_of(rows: Sequence[Reading]) -> dict[str, float]:
    """Return the newest reading of each sort as a number in its canonical unit."""
    return {reading.what: float(reading.value) for reading in rows}


def _brakes(page: TowedVehicle) -> frozenset[str]:
    return frozenset(
        component_name(fitting)
        for fitting in page.fittings
        if fitting.component.kind.duty == ComponentKind.Duty.BRAKE
    )


def _finite(course: Course) -> float:
    """A span that shows the course down to where it is empty, a day where it never is."""
    day = 24.0
    empty = course.empty.value
    return empty if empty < LONGEST_CURVE_H else day


def _scaled(vehicle: Vehicle) -> float | None:
    """A scale ticket of the loaded vehicle; any other figure is no weight to judge by."""
    loaded = vehicle.weight_kind == Vehicle.WeightKind.SCALED_LOADED
    return _number(vehicle.weight_kg) if loaded else None


def _number(value: Any) -> float | None:
    return None if value is None else float(value)
