"""Limits in both units, values over time, and marks in dots."""

from datetime import date
from typing import Any

import pytest

from installs.domain.digest import digest
from shop.papers.domain.drawn import drawn_marks
from shop.papers.domain.trend import number_of, trends
from shop.templatetags.paper import direction
from vehicles.domain.procedure import Limits
from vehicles.domain.towlimits import texts


def test_a_limit_is_rounded_to_the_careful_side() -> None:
    """1 mile is 1.609344 km: 65 mph are 104.607 km/h, 200 miles are 321.87 km."""
    told = Limits(max_speed_mph=65, max_distance_mi=200, engine_run_every_h=8, engine_run_minutes=5)
    assert list(texts(told, both_units=True)) == [
        "at most 65 mph (104 km/h)",
        "at most 200 miles (321 km)",
        "run the engine 5 minutes every 8 h",
    ]
    assert list(texts(Limits(), both_units=True)) == []
    more = Limits(engine_run_minutes=3, daily_repeat=True, direction="forward only")
    assert list(texts(more, both_units=True)) == [
        "run the engine 3 minutes",
        "do it all again every day",
        "forward only",
    ]


@pytest.mark.parametrize(
    ("told", "number"),
    [
        ("12.4 V", (12.4, "v")),
        ("12,4 V", (12.4, "v")),
        (" 18 min ", (18.0, "min")),
        ("-0.2", (-0.2, "")),
        ("\u22120.2 V", (-0.2, "v")),
        (7, (7.0, "")),
        ("75 N·m", (75.0, "n·m")),
        ("yes", None),
        ("12:30 min", None),
        ("1,200", None),
        ("12 of 14", None),
        ("", None),
        (True, None),
        (None, None),
    ],
)
def test_only_what_is_one_number_is_drawn(told: Any, number: tuple[float, str] | None) -> None:
    assert number_of(told) == number


def test_values_of_one_name_and_unit_make_a_line_in_order_of_their_days() -> None:
    looks = [
        (date(2026, 3, 1), False, {"hold": "9 min", "volts": "12.1 V"}),
        (date(2024, 3, 1), True, {"hold": "18 min", "volts": 12.6}),
        (date(2025, 3, 1), True, {"hold": "15 min", "seen": "yes"}),
    ]
    (found,) = trends(looks)
    assert (found.name, found.unit) == ("hold", "min")
    assert [(p.text, p.good) for p in found.points] == [("18", True), ("15", True), ("9", False)]
    assert [p.x for p in found.points] == sorted(p.x for p in found.points)
    first, _, last = found.points
    assert (first.y, last.y) == (found.ceiling, found.floor), "high above, low below"
    assert found.words == ("hold: 3 readings from 18 min on 2024-03-01 to 9 min on 2026-03-01.")


def test_a_level_line_and_one_day_are_drawn_too() -> None:
    day = date(2026, 3, 1)
    (found,) = trends([(day, True, {"v": 12}), (day, True, {"v": 12})])
    assert len({(p.x, p.y) for p in found.points}) == 1
    assert found.ceiling < found.points[0].y < found.floor


def test_marks_stand_in_dots_of_the_photo() -> None:
    marks = [
        {"shape": "arrow", "from": [0, 0], "to": [0.5, 0.5]},
        {"shape": "circle", "at": [0.25, 0.5], "radius": 0.1},
        {"shape": "note", "at": [0.1, 0.9], "text": "here"},
    ]
    arrow, circle, note = drawn_marks(marks, 1600, 1200)
    assert arrow["path"].startswith("M0 0L800.0 600.0M")
    assert (circle["x"], circle["y"], circle["r"]) == (400, 600, 160)
    assert (note["x"], note["y"], note["text"]) == (160, 1080, "here")


@pytest.mark.parametrize(
    ("text", "runs"),
    [("Łukasz", "ltr"), ("12 افحص", "rtl"), ("שלום abc", "rtl"), ("", "ltr"), ("42", "ltr")],
)
def test_a_text_runs_as_its_first_letter_does(text: str, runs: str) -> None:
    assert direction(text) == runs


def test_a_hash_is_of_the_content_and_not_of_its_order() -> None:
    assert digest({"a": 1, "b": "é"}) == digest({"b": "é", "a": 1})
    assert digest({"a": 1}) != digest({"a": 2})
    assert len(digest({})) == 64
