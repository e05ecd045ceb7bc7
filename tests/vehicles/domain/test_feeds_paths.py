"""What is alive on a feed map: terminals, fuses, outlets, grounds, disconnect, charge line."""

import pytest

from tests.factories.sheets import feed_map, paths, step
from vehicles.domain.answers import Value
from vehicles.domain.state import State, drive_state

CAR = feed_map(
    fuses=[
        {"id": "F08", "feed": "terminal:15R", "rating_a": 7.5},
        {"id": "F21", "feed": "terminal:30", "rating_a": 15},
        {"id": "F33", "feed": "terminal:15", "rating_a": 10},
        {"id": "F40", "feed": "terminal:30", "known": "assumed"},
    ],
    switches=[
        {"id": "stop", "feed": "fuse:F21", "closed_when": "pedal"},
        {"id": "lamps", "feed": "fuse:F21", "closed_when": "lamp_switch"},
        {"id": "reverse", "feed": "fuse:F21", "closed_when": "reverse"},
        {"id": "hood", "feed": "fuse:F21", "closed_when": "unknown"},
        {"id": "ground_side", "feed": "body", "closed_when": "pedal"},
    ],
    outlets=[
        {"id": "dash", "feed": "fuse:F08"},
        {"id": "rear", "feed": "fuse:F21", "timer_minutes": 20},
        {
            "id": "picky",
            "feed": "fuse:F21",
            "conditions": ["something draws", "the battery is above 12.1 V"],
            "user_can_change": True,
        },
        {"id": "menu", "feed": "fuse:F21", "user_can_change": True},
    ],
)


def state(**values):
    return State("tow", **{"key": "off", "charge_connected": False, **values})


@pytest.mark.parametrize(
    ("key", "alive"),
    [
        ("off", {"terminal:30"}),
        ("acc", {"terminal:30", "terminal:15R"}),
        ("on", {"terminal:30", "terminal:15R", "terminal:15"}),
        ("start", {"terminal:30", "terminal:15"}),
    ],
)
def test_the_key_decides_which_terminals_live(key, alive):
    walk = paths(CAR, state(key=key))
    terminals = ("terminal:30", "terminal:15R", "terminal:15")
    assert {point for point in terminals if walk.point(point).value == "ON"} == alive


def test_a_key_nobody_stated_leaves_only_what_ignores_it():
    walk = paths(CAR, state(key=None))
    assert walk.point("terminal:30").value == "ON"
    assert walk.point("fuse:F08").value == "UNKNOWN"


@pytest.mark.parametrize(
    ("point", "value", "why"),
    [
        ("fuse:F08@supply", "ON", "terminal 15R, key ACC (step 1)"),
        ("fuse:F08", "OFF", "F08 is out (step 5)"),
        ("outlet:dash", "OFF", "F08 is out (step 5)"),
        ("fuse:F33@supply", "OFF", "terminal 15, key ACC (step 1): dead"),
        ("fuse:F40", "UNKNOWN", "F40: its feed is assumed, nobody measured it"),
        ("fuse:F99", "UNKNOWN", "fuse:F99 is not on the feed map"),
        ("unknown", "UNKNOWN", "nobody recorded where this is fed from"),
        ("switch:hood", "UNKNOWN", "switch hood: nobody recorded what closes it"),
        ("own", "ON", "its own battery"),
    ],
)
def test_what_a_pulled_accessory_fuse_leaves(point, value, why):
    walk = paths(CAR, "tow", step(1, "key", value="acc"), step(5, "fuse_out", target="F08"))
    answer = walk.point(point)
    assert (answer.value, answer.why) == (value, why)


def test_a_chain_leads_from_the_battery_to_the_point():
    walk = paths(CAR, "tow", step(1, "key", value="acc"), step(5, "fuse_out", target="F08"))
    assert [link.point for link in walk.port("outlet:dash", "body").chain] == [
        "battery",
        "terminal:15R",
        "fuse:F08",
        "outlet:dash",
        "ground",
    ]


def test_an_assumed_feed_is_unknown_even_where_the_key_would_make_it_dead():
    car = feed_map(fuses=[{"id": "F33", "feed": "terminal:15", "known": "assumed"}])
    assert paths(car, state(key="off")).point("fuse:F33").value == "UNKNOWN"


def test_a_pulled_fuse_is_dead_behind_though_its_feed_is_assumed():
    walk = paths(CAR, state(fuses_out={"F40": 3}))
    assert walk.point("fuse:F40").value == "OFF"
    assert walk.point("fuse:F40@supply").value == "UNKNOWN"


@pytest.mark.parametrize(
    ("values", "answer"),
    [
        ({"pedal": False}, "OFF"),
        ({"pedal": True}, "ON"),
        ({"pedal": None}, "CONDITIONAL"),
    ],
)
def test_the_stop_lamp_switch_follows_the_pedal(values, answer):
    assert paths(CAR, state(**values)).point("switch:stop").value == answer
    assert paths(CAR, state(**values)).port("fuse:F21", "switch:ground_side").value == answer


@pytest.mark.parametrize(
    ("position", "answer"),
    [("off", "OFF"), ("on", "ON"), ("auto", "CONDITIONAL"), (None, "CONDITIONAL")],
)
def test_lamps_left_on_auto_are_never_plainly_off(position, answer):
    assert paths(CAR, state(lamp_switch=position)).point("switch:lamps").value == answer


def test_a_breakaway_switch_closes_when_its_pin_is_out():
    pin = [{"id": "pin", "feed": "terminal:30", "closed_when": "pin"}]
    car = feed_map(switches=pin)
    values = {n: paths(car, n).point("switch:pin").value for n in ("drive", "tow", "breakaway")}
    assert values == {"drive": "OFF", "tow": "OFF", "breakaway": "ON"}


def test_reverse_gear_is_out_once_a_gear_step_is_done():
    assert paths(CAR, drive_state()).point("switch:reverse").value == "CONDITIONAL"
    walk = paths(CAR, "tow", step(1, "key", value="off"), step(2, "gear", value="N"))
    assert walk.point("switch:reverse").value == "OFF"


@pytest.mark.parametrize(
    ("key", "minutes", "answer"),
    [
        ("on", None, "ON"),
        ("off", None, "TIMED"),
        ("off", 19.9, "TIMED"),
        ("off", 20, "OFF"),
        ("acc", None, "TIMED"),
    ],
)
def test_an_outlet_on_a_timer(key, minutes, answer):
    walk = paths(CAR, state(key=key, minutes_since_key_off=minutes))
    assert walk.point("outlet:rear").value == answer


@pytest.mark.parametrize(
    ("key", "minutes", "answer"),
    [("acc", None, "ON"), ("off", None, "TIMED"), ("off", 9, "TIMED"), ("off", 10, "OFF")],
)
def test_a_terminal_retained_after_key_off(key, minutes, answer):
    car = feed_map(terminals=[{"id": "15R", "timer_minutes": 10}])
    walk = paths(car, state(key=key, minutes_since_key_off=minutes))
    assert walk.point("terminal:15R").value == answer


def test_an_outlet_with_conditions_names_them_and_who_can_change_it():
    answer = paths(CAR, drive_state()).point("outlet:picky")
    assert answer.conditions == ("something draws", "the battery is above 12.1 V")
    assert "the driver can change this" in answer.why
    assert paths(CAR, drive_state()).point("outlet:menu").value == "CONDITIONAL"


def test_terminals_that_a_switch_decides_are_unknown_until_it_is_named():
    car = feed_map(terminals=[{"id": "58"}, {"id": "54", "closed_when": "pedal"}])
    walk = paths(car, state(pedal=True))
    assert walk.point("terminal:58").value == "UNKNOWN"
    assert walk.point("terminal:54").value == "ON"


def test_a_second_battery_is_unknown_until_it_is_placed():
    car = feed_map(terminals=[{"id": "30a"}])
    assert paths(car, drive_state()).point("terminal:30a").value == "UNKNOWN"
    placed = feed_map(terminals=[{"id": "30a", "feed": "battery"}])
    assert paths(placed, drive_state()).point("terminal:30a").value == "ON"


def test_a_bypass_keeps_the_load_side_of_a_pulled_fuse_alive():
    car = feed_map(
        fuses=[{"id": "F08", "feed": "terminal:30", "backfeed": "switch:bypass"}],
        switches=[{"id": "bypass", "feed": "fuse:F08@supply", "closed_when": "always"}],
    )
    assert paths(car, state(fuses_out={"F08": 5})).point("fuse:F08").value == "ON"


def test_any_one_of_several_feeds_is_enough():
    car = feed_map(fuses=[{"id": "F1", "feed": ["terminal:15", "terminal:30"]}])
    assert paths(car, state(key="off")).point("fuse:F1").value == "ON"


def test_a_plain_feed_in_a_circle_ends_as_unknown():
    car = feed_map(fuses=[{"id": "A", "feed": "fuse:B"}, {"id": "B", "feed": "fuse:A"}])
    assert paths(car, drive_state()).point("fuse:A").value == "UNKNOWN"


def test_without_a_settled_tow_state_nothing_but_an_own_battery_is_known():
    walk = paths(CAR, State("tow", unsettled="towing is not allowed"))
    assert {walk.point(p).value for p in CAR_POINTS} == {"UNKNOWN"}
    assert walk.port("battery", "battery_negative_post").why == "towing is not allowed"
    assert walk.port("own", "own").value == "ON"
    assert not walk.plainly(walk.port("own", "own").value)


CAR_POINTS = ("battery", "terminal:30", "fuse:F21", "fuse:F40", "outlet:dash")


def test_a_bypass_that_was_only_assumed_does_not_keep_a_pulled_fuse_alive():
    """Nobody measured what reaches the load side, so it is neither alive nor dead."""
    fuse = {"id": "F08", "feed": "terminal:30", "backfeed": "switch:bypass", "known": "assumed"}
    bypass = {"id": "bypass", "feed": "terminal:30", "closed_when": "always"}
    for closed_when in ("always", "pedal"):
        car = feed_map(fuses=[fuse], switches=[{**bypass, "closed_when": closed_when}])
        assert paths(car, state(fuses_out={"F08": 5})).point("fuse:F08").value == "UNKNOWN"


@pytest.mark.parametrize(
    ("point", "car"),
    [
        ("relay:R1", {"relays": [{"id": "R1", "coil": "terminal:15", "feed": "terminal:30"}]}),
        ("switch:S1", {"switches": [{"id": "S1", "feed": "terminal:30", "closed_when": "pedal"}]}),
        ("terminal:15", {"terminals": [{"id": "30", "known": "document"}, {"id": "15"}]}),
        ("terminal:X", {"terminals": [{"id": "X", "live_in": ["on"]}]}),
        ("outlet:O", {"outlets": [{"id": "O", "feed": "terminal:30", "timer_minutes": 5}]}),
    ],
)
def test_what_opens_an_assumed_element_is_assumed_too(point, car):
    """Pedal at rest, key off, timer run out: an assumption that says open is no proof of rest."""
    car = {**feed_map(**car), "known": "assumed"}
    walk = paths(car, state(key="off", minutes_since_key_off=60))
    assert walk.point(point).value == "UNKNOWN"
    assert point not in walk.plainly(Value.OFF)
