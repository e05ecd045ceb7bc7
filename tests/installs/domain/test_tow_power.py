"""What draws in the tow state, how long it lasts, and what the breakaway battery has to hold."""

import copy
from typing import Any

import pytest

from installs.domain.needs import judge
from installs.domain.sheet import parse_sheet
from installs.domain.tow_power import (
    Cell,
    Course,
    Measured,
    course_in_tow,
    course_of_hold,
    draws_in_tow,
    hold_minutes,
    hours_in_tow,
)
from vehicles.domain.bands import Unknown, Verdict
from vehicles.domain.limit_set import START

SHEET: dict[str, Any] = {
    "pullpin_sheet": 1,
    "vehicle": {"name": "a car"},
    "feed_map": {
        "known": "measured",
        "terminals": [{"id": "30"}, {"id": "15"}],
        "fuses": [{"id": "F1", "rating_a": 15, "feed": "terminal:30"},
                  {"id": "F2", "rating_a": 15, "feed": "terminal:15"}],
        "electric_parking_brake": False,
        "automatic_lamps": False,
    },
    "procedure": {
        "verdict": "allowed",
        "steps": [{"no": 1, "action": "key", "value": "off"}],
        "source": {"kind": "document", "title": "a handbook"},
    },
    "kinds": {
        "brake": {"name": "Brake unit", "ports": [
            {"name": "supply", "demand": {"tow": "on"}, "standby_a": 0.3, "working_a": 6}]},
        "sender": {"name": "Transmitter", "ports": [
            {"name": "supply", "demand": {"tow": "on"}, "working_a": 0.2}]},
        "switch": {"name": "Breakaway switch", "ports": [
            {"name": "supply", "demand": {"breakaway": "on"}, "peak_a": 9}]},
    },
    "fittings": [
        {"id": "A", "kind": "brake",
         "ports": {"supply": {"feed": "fuse:F1", "ground": "body", "known": "measured"}}},
        {"id": "B", "kind": "sender",
         "ports": {"supply": {"feed": "fuse:F1", "ground": "body", "known": "measured"}}},
        {"id": "C", "kind": "switch", "ports": {"supply": {"feed": "own", "ground": "own"}}},
    ],
}  # fmt: skip
BRAKES = frozenset({"A"})


def made(**feeds: str) -> tuple[Any, Any]:
    document = copy.deepcopy(SHEET)
    for fitting in document["fittings"]:
        if fitting["id"] in feeds:
            fitting["ports"]["supply"]["feed"] = feeds[fitting["id"]]
    sheet = parse_sheet(document)
    return sheet, judge(sheet)


def test_live_ports_draw_what_is_listed_and_the_brake_presses_for_its_share() -> None:
    sheet, judgement = made()
    found = draws_in_tow(sheet, judgement, brakes=BRAKES, duty=0.05)
    assert [(draw.amps, draw.duty) for draw in found] == [(0.3, 1.0), (0.2, 1.0), (6, 0.05)]


def test_a_dead_port_draws_nothing() -> None:
    sheet, judgement = made(B="fuse:F2")
    found = draws_in_tow(sheet, judgement, brakes=BRAKES)
    assert [draw.amps for draw in found] == [0.3, 6]


def test_a_measured_current_replaces_the_listed_ones_but_not_the_strokes() -> None:
    sheet, judgement = made()
    found = draws_in_tow(sheet, judgement, brakes=BRAKES, measured_a=0.9)
    assert [draw.amps for draw in found] == [0.9, 6]


def test_a_load_of_the_car_that_is_awake_is_a_current_that_nobody_knows() -> None:
    document = copy.deepcopy(SHEET)
    document["feed_map"]["loads"] = [
        {"id": "assist", "name": "steering assist", "feed": "fuse:F1", "needs": {"tow": "any"}}
    ]
    sheet = parse_sheet(document)
    judgement = judge(sheet)
    found = hours_in_tow(
        sheet, judgement, battery=Cell(60), measured=Measured(), brakes=BRAKES, leg_h=6
    )
    assert found.verdict is Verdict.UNKNOWN
    assert "measure the current of steering assist" in found.held.measure
    measured = hours_in_tow(
        sheet, judgement, battery=Cell(60), measured=Measured(draw_a=2), brakes=BRAKES, leg_h=6
    )
    assert measured.verdict is not Verdict.UNKNOWN


def test_the_low_bound_is_an_old_battery_by_the_shops_limit() -> None:
    """1.0 A from 60 Ah, half of it to plan with: 30 h, and 24 h with four fifths left."""
    sheet, judgement = made()
    cell = Cell(60, "agm")

    def hours(limits: Any) -> Any:
        return hours_in_tow(
            sheet, judgement, battery=cell, measured=Measured(draw_a=1.0), brakes=frozenset(),
            leg_h=6, limits=limits,
        )  # fmt: skip

    found = hours(START)
    assert (found.held.value.value, found.held.value.low) == (30, 24)
    course = course_in_tow(cell, found)
    assert isinstance(course, Course)
    assert (course.empty.value, course.empty.low, course.limit_percent) == (60, 48, 50)
    careful = START.with_value("usable_share", {"value": 0.25, "low": 0.25, "high": 0.25})
    assert hours(careful).held.value.value == 15


def test_without_amp_hours_nothing_is_drawn_and_it_says_what_to_read() -> None:
    sheet, judgement = made()
    found = hours_in_tow(
        sheet, judgement, battery=Cell(), measured=Measured(draw_a=1), brakes=BRAKES, leg_h=6
    )
    course = course_in_tow(Cell(), found)
    assert isinstance(course, Unknown)
    assert course.measure == ("read the battery's amp-hours",)


def test_a_breakaway_battery_is_held_against_the_shops_minutes() -> None:
    """5 Ah at 9.5 A: by Peukert's law in its 20-hour form, k 1.1, about 22 minutes when new."""
    held = hold_minutes(Cell(5), 9.5)
    by_hand = 20 * (5 / (9.5 * 20)) ** 1.1 * 60
    assert held.value.value == pytest.approx(by_hand)
    assert held.verdict is Verdict.CLOSE
    easy = START.with_value("hold_minutes", {"value": 5, "low": 5, "high": 5})
    assert hold_minutes(Cell(5), 9.5, limits=easy).verdict is Verdict.PASS
    assert isinstance(course_of_hold(held), Course)


def test_a_hold_that_nobody_measured_is_unknown() -> None:
    held = hold_minutes(Cell(5), None)
    assert held.verdict is Verdict.UNKNOWN
    missing = course_of_hold(held)
    assert isinstance(missing, Unknown)
    assert missing.measure == ("measure the brake's current while it holds",)
