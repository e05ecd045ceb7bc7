"""Feed and return together: a disconnect in either leg, and the coach's charge line."""

import pytest

from tests.factories.sheets import feed_map, paths, step
from vehicles.domain.state import State

FUSES = [{"id": "F21", "feed": "terminal:30"}]
FEEDS = ("battery", "fuse:F21")
GROUNDS = ("battery_negative_post", "body")


def walk(leg=None, line=None, **state):
    car = feed_map(fuses=FUSES)
    if leg:
        car["disconnect"] = {"leg": leg}
    if line:
        car["charge_line"] = line
    values = {"key": "off", "charge_connected": False, "disconnect_open": True, **state}
    return paths(car, State("tow", **values))


def table(live_paths):
    return {
        (feed, ground): live_paths.port(feed, ground).value.value
        for feed in FEEDS
        for ground in GROUNDS
    }


def test_a_disconnect_in_the_negative_leg_kills_what_returns_through_the_body():
    assert table(walk("negative")) == {
        ("battery", "battery_negative_post"): "ON",
        ("battery", "body"): "OFF",
        ("fuse:F21", "battery_negative_post"): "ON",
        ("fuse:F21", "body"): "OFF",
    }


def test_a_disconnect_in_the_positive_leg_kills_what_hangs_behind_it():
    assert table(walk("positive")) == {
        ("battery", "battery_negative_post"): "ON",
        ("battery", "body"): "ON",
        ("fuse:F21", "battery_negative_post"): "OFF",
        ("fuse:F21", "body"): "OFF",
    }


@pytest.mark.parametrize("leg", [None, "none"])
def test_a_disconnect_in_no_recorded_leg_is_unknown_but_not_at_the_posts(leg):
    found = table(walk(leg))
    assert found.pop(("battery", "battery_negative_post")) == "ON"
    assert set(found.values()) == {"UNKNOWN"}


def test_a_step_that_names_the_leg_decides_where_the_map_has_none():
    car = feed_map(fuses=FUSES)
    steps = (step(1, "key", value="off"), step(2, "disconnect_open", value="negative"))
    answer = paths(car, "tow", *steps).port("fuse:F21", "body")
    assert answer.why == "the battery is disconnected in the negative leg (step 2)"


def test_closed_a_disconnect_changes_nothing():
    assert set(table(walk("negative", disconnect_open=False)).values()) == {"ON"}


def line(lands, ground, **more):
    return {"lands": lands, "ground": ground, **more}


@pytest.mark.parametrize(
    ("leg", "lands", "ground", "alive"),
    [
        ("positive", "load_side", "body", "ON"),
        ("positive", "load_side", "battery_post", "ON"),
        ("positive", "battery_side", "body", "OFF"),
        ("negative", "load_side", "body", "ON"),
        ("negative", "battery_side", "body", "ON"),
        ("negative", "load_side", "battery_post", "OFF"),
        ("negative", "load_side", "none", "OFF"),
        ("negative", "load_side", "unknown", "UNKNOWN"),
        ("positive", "load_side", "none", "OFF"),
    ],
)
def test_the_charge_line_feeds_the_car_past_an_open_disconnect(leg, lands, ground, alive):
    walked = walk(leg, line(lands, ground), charge_connected=True)
    assert walked.port("fuse:F21", "body").value == alive


@pytest.mark.parametrize(
    ("state", "value"),
    [
        ({"charge_connected": True}, "ON"),
        ({"charge_connected": False}, "OFF"),
        ({"charge_connected": None}, "UNKNOWN"),
        ({"charge_connected": True, "pin_pulled": True}, "OFF"),
    ],
)
def test_a_part_on_the_charge_line_lives_and_dies_with_the_plug(state, value):
    walked = walk("negative", line("load_side", "body"), **state)
    assert walked.port("coach", "coach").value == value
    assert walked.port("coach", "body").value == value


def test_what_the_coach_must_do_is_a_condition():
    walked = walk(
        "negative",
        line("load_side", "body", conditions=["the coach's ignition is on"]),
        charge_connected=True,
    )
    assert walked.port("fuse:F21", "body").conditions == ("the coach's ignition is on",)


def test_a_charge_line_nobody_measured_is_unknown():
    walked = walk("negative", line("load_side", "body", known="assumed"), charge_connected=True)
    assert walked.port("fuse:F21", "body").value == "UNKNOWN"


def test_a_part_on_the_charge_line_of_a_car_that_has_none_is_unknown():
    assert walk("negative").port("coach", "coach").value == "UNKNOWN"


def test_the_car_battery_returns_through_the_coachs_ground_only_while_plugged_in():
    closed = {"disconnect_open": False}
    plugged = walk("negative", line("load_side", "body"), charge_connected=True, **closed)
    assert plugged.port("fuse:F21", "coach").value == "ON"
    unplugged = walk("negative", line("load_side", "body"), **closed)
    assert unplugged.port("fuse:F21", "coach").value == "OFF"


def test_feed_and_return_must_come_from_the_same_source():
    """Plus from one battery and minus from another that shares no ground is no circuit."""
    walked = walk("positive", line("load_side", "none"), charge_connected=True)
    assert walked.port("battery", "coach").value == "OFF"
    assert walked.port("fuse:F21", "battery_negative_post").value == "OFF"
    assert walked.port("fuse:F21", "coach").value == "ON"
    assert walked.port("battery", "battery_negative_post").value == "ON"


def test_a_ground_nobody_recorded_is_unknown_unless_the_feed_is_dead_anyway():
    assert walk("negative").port("fuse:F21", "unknown").value == "UNKNOWN"
    assert walk("positive").port("fuse:F21", "unknown").value == "OFF"
