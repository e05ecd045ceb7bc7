"""What is measured on a combination as hitched: refused where it cannot be, else UNKNOWN."""

from types import SimpleNamespace
from typing import Any

import pytest

from vehicles.domain.bands import Verdict
from vehicles.domain.hitch import Hitch
from vehicles.domain.limit_set import START

WHOLE = Hitch(
    bar_length_mm=1575, bar_rise_mm=38, cables_mm=1727, lanyard_mm=1880, cord_mm=2083,
    slack_mm=280, full_lock_mm=230, loop_mm=150,
)  # fmt: skip


def test_figures_that_fit_have_no_fault_and_pass() -> None:
    assert WHOLE.faults() == []
    assert WHOLE.angle().verdict is Verdict.PASS
    assert WHOLE.order().verdict is Verdict.PASS
    assert {held.verdict for held in WHOLE.slack()} == {Verdict.PASS}


def test_nothing_measured_is_unknown_everywhere_and_no_fault() -> None:
    empty = Hitch()
    assert empty.faults() == []
    verdicts = {empty.angle().verdict, empty.order().verdict, empty.anchored()[0]}
    verdicts |= {held.verdict for held in empty.slack()}
    assert verdicts == {Verdict.UNKNOWN}
    assert empty.angle().measure[0] == (
        "measure the height of both ends of the tow bar at ride height"
    )


@pytest.mark.parametrize(
    ("figures", "field", "sentence"),
    [
        ({"cables_mm": 0}, "cables_mm", "it must be more than 0"),
        ({"lanyard_mm": -3}, "lanyard_mm", "it must be more than 0"),
        ({"slack_mm": -1}, "slack_mm", "it cannot be negative"),
        ({"bar_length_mm": 300, "bar_rise_mm": 300}, "bar_rise_mm", "not shorter than the bar"),
        ({"bar_length_mm": 0, "bar_rise_mm": 9}, "bar_length_mm", "it must be more than 0"),
        ({"ball_mount_kg": 0}, "ball_mount_kg", "it must be more than 0"),
    ],
)
def test_a_figure_that_cannot_be_is_named(
    figures: dict[str, float], field: str, sentence: str
) -> None:
    ((named, said),) = Hitch(**figures).faults()
    assert named == field
    assert sentence in said


def test_a_record_is_read_by_its_columns() -> None:
    columns: dict[str, Any] = {name: None for name in Hitch.__slots__ if name != "anchor"}
    read = Hitch.of(SimpleNamespace(**columns | {"cord_mm": 2083}, lanyard_anchor="RECEIVER"))
    assert read.cord_mm == 2083.0
    assert read.anchored()[0] is Verdict.FAIL


def test_the_shops_own_limits_decide() -> None:
    strict = START.with_value("bar_rise_mm", {"value": 20, "low": 20, "high": 20})
    strict = strict.with_value("loop_clearance_mm", {"value": 200, "low": 200, "high": 200})
    assert WHOLE.angle(strict).verdict is Verdict.FAIL
    assert WHOLE.slack(strict)[1].verdict is Verdict.FAIL
