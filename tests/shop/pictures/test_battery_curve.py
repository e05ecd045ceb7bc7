"""The battery's picture: its band encloses the likely course, limits and marks in their place."""

import math
import re
from itertools import pairwise

import pytest
from django.template.loader import render_to_string

from shop.desk.pictures.battery_curve import Curve, charge, draw
from vehicles.domain.bands import Band

# By hand: 60 Ah down to half at 5 A is 6 hours by plain arithmetic, 12 hours down to empty.
EMPTY = Band(12.0, 9.0, 14.0)


def hours(**more: float) -> Curve:
    return draw(EMPTY, unit="h", span=more.pop("span", 16.0), title="The battery", **more)


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", path)]


def test_half_is_left_after_half_the_time() -> None:
    assert charge(6, 12) == 50
    assert charge(12, 12) == 0
    assert charge(20, 12) == 0
    assert charge(20, math.inf) == 100


def test_the_line_runs_down_to_the_floor_and_stays_there() -> None:
    assert points(hours().line) == [(0, 0), (75, 100), (100, 100)]


def test_the_band_has_the_likely_course_inside() -> None:
    for time, low, likely, high in hours().rows:
        figures = [float(text.removesuffix(" %")) for text in (low, likely, high)]
        assert figures == sorted(figures), time


def test_one_that_is_charged_while_used_stays_full() -> None:
    curve = draw(Band(math.inf, math.inf, math.inf), unit="h", span=24, title="t", limit_percent=50)
    assert points(curve.line) == [(0, 0), (100, 0)]
    assert "does not run down" in curve.words


def test_limit_and_mark_stand_where_they_belong() -> None:
    curve = hours(limit_percent=50, mark=4, mark_text="leg of 4 h")
    assert curve.limit_y == 50
    (mark,) = curve.marks
    assert (mark.at, mark.anchor) == (25, "start")
    assert hours(mark=15).marks[0].anchor == "end"
    assert hours(mark=20).marks == ()


def test_without_a_limit_there_is_no_line_for_it() -> None:
    curve = draw(Band(22.0, 18.0, 26.0), unit="min", span=60, title="After the pin", mark=15)
    assert curve.limit_y is None
    assert 'class="limit"' not in render_to_string(
        "parts/battery_curve.svg.html", {"curve": curve, "name": "x"}
    )


@pytest.mark.parametrize("span", [0.5, 1, 6, 16, 24, 60, 90, 240, 5000])
def test_labels_under_it_stand_clear_of_each_other(span: float) -> None:
    """On the 270 px that a phone leaves for the plot, at 7.6 px a letter."""
    curve = hours(span=span)
    assert len(curve.ticks) <= 8
    spans = []
    for tick in curve.ticks:
        at, width = tick.at * 2.7, len(tick.text) * 7.6
        start = {"start": at, "middle": at - width / 2, "end": at - width}[tick.anchor]
        spans.append((start, start + width))
    assert all(one[1] <= two[0] for one, two in pairwise(spans))


def test_a_plot_of_no_time_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        hours(span=0)


def test_it_is_titled_described_and_has_a_table() -> None:
    html = render_to_string("parts/battery_curve.svg.html", {"curve": hours(), "name": "tow"})
    assert 'aria-labelledby="curve-title-tow curve-words-tow"' in html
    assert "Empty after 9.0 to 14.0 hours, most likely 12.0." in html
    assert html.count("<tr>") == len(hours().rows) + 1
