"""Two sources for one vehicle: where they disagree, told of the other one."""

import pytest

from tests.factories.sheets import procedure, step
from vehicles.domain.editions import conflicts
from vehicles.domain.procedure import Procedure


def parsed(*steps, **parts):
    return Procedure.from_dict(procedure(*steps, **parts))


KEY, GEAR, WAIT = step(1, "key", value="acc"), step(2, "gear", value="N"), step(3, "wait", value=15)


def test_a_wait_in_the_web_edition_only_is_told_from_either_side():
    printed, web = parsed(KEY, GEAR), parsed(KEY, GEAR, WAIT)
    assert conflicts(printed, web) == ["It asks for: Wait 15 minutes."]
    assert conflicts(web, printed) == ["It does not ask for: Wait 15 minutes."]
    assert conflicts(web, web) == []


def test_a_step_done_twice_in_one_source_is_a_conflict():
    assert conflicts(parsed(KEY, WAIT), parsed(KEY, WAIT, {**WAIT, "no": 4})) == [
        "It asks for: Wait 15 minutes."
    ]


def test_sources_that_pull_different_fuses():
    one, two = parsed(step(1, "fuse_out", target="F32")), parsed(step(1, "fuse_out", target="F16"))
    assert conflicts(one, two) == [
        "It asks for: Pull fuse F16.",
        "It does not ask for: Pull fuse F32.",
    ]


def test_a_source_that_forbids_it():
    told = conflicts(parsed(KEY), Procedure("not_allowed"))
    assert told[0] == "It says “not allowed”, not “allowed”."


@pytest.mark.parametrize(
    "other",
    [
        parsed(KEY, {**GEAR, "no": 7, "text": "Selector to N, slowly"}),
        parsed(KEY, GEAR, source={"kind": "bulletin", "title": "Bulletin 4"}),
        parsed(KEY, GEAR, note="read twice"),
    ],
)
def test_other_words_or_numbers_are_no_conflict(other):
    assert conflicts(parsed(KEY, GEAR), other) == []


def test_minutes_are_a_figure_however_written():
    assert conflicts(parsed(KEY, WAIT), parsed(KEY, {**WAIT, "value": 15.0})) == []


def test_the_order_of_key_and_gear_counts():
    turned = parsed({**GEAR, "no": 1}, {**KEY, "no": 2})
    assert conflicts(parsed(KEY, GEAR), turned) == ["It asks for the same steps in another order."]


@pytest.mark.parametrize(
    ("mine", "other", "told"),
    [
        (
            {"max_speed_mph": 70},
            {"max_speed_mph": 65},
            "Top speed: it says 65 mph, here 70 mph.",
        ),
        (
            {},
            {"engine_run_every_h": 6},
            "Hours between engine runs: it says 6 h, here nothing.",
        ),
        ({"daily_repeat": True}, {}, "It does not ask to do it all again every day."),
        ({}, {"daily_repeat": True}, "It asks to do it all again every day."),
        (
            {"direction": "forward only"},
            {},
            "Direction: it says nothing, here forward only.",
        ),
    ],
)
def test_limits_that_differ_are_told_with_both_figures(mine, other, told):
    assert conflicts(parsed(limits=mine), parsed(limits=other)) == [told]
