"""Amps: what stands behind a port, and what several parts draw through one fuse."""

import pytest

from installs.domain.needs import judge
from installs.domain.sheet import parse_sheet
from tests.factories.sheets import sheet


def findings(**parts):
    return {f.code.value: f for f in judge(parse_sheet(sheet(**parts))).findings}


def fuse(rating, **more):
    return {"id": "F1", "feed": "terminal:30", "rating_a": rating, **more}


def outlet(id_, rating=20):
    return {"id": id_, "feed": "fuse:F1", "rating_a": rating}


@pytest.mark.parametrize(("rating", "found"), [(15, False), (20, False), (10, True), (14.9, True)])
def test_an_outlet_needs_the_rating_that_the_part_asks_for(rating, found):
    got = findings(
        fuses=[fuse(rating)],
        outlets=[outlet("dash", 30)],
        ports={"unit": ({"min_supply_a": 15}, {"feed": "outlet:dash"})},
    )
    assert ("supply_too_small" in got) is found


def test_the_weakest_on_the_way_counts_and_is_named():
    got = findings(
        fuses=[fuse(20)],
        outlets=[outlet("dash", 10)],
        ports={"unit": ({"min_supply_a": 15}, {"feed": "outlet:dash", "own_fuse_a": 15})},
    )
    assert got["supply_too_small"].title == ("unit, supply: 10 A behind it, at least 15 A wanted.")
    assert got["supply_too_small"].why == "The weakest on the way is outlet dash."


def test_a_rating_nobody_recorded_blocks_where_one_is_asked_for():
    got = findings(fuses=[fuse(None)], ports={"unit": ({"min_supply_a": 15}, {"feed": "fuse:F1"})})
    assert got["rating_not_known"].blocking
    assert got["rating_not_known"].is_unknown


def test_a_rating_nobody_recorded_blocks_where_only_a_peak_has_to_pass():
    got = findings(fuses=[fuse(None)], ports={"unit": ({"peak_a": 30}, {"feed": "fuse:F1"})})
    assert got["rating_not_known"].blocking
    assert got["rating_not_known"].why == "Its peak of 30 A must pass there."
    assert findings(fuses=[fuse(None)], ports={"unit": ({}, {"feed": "fuse:F1"})}) == {}


def two_outlets(rating, **more):
    """One fuse feeds a brake unit of 10 A and a cooler of 7 A in another outlet."""
    return findings(
        fuses=[fuse(rating, **more)],
        outlets=[outlet("one"), outlet("two")],
        ports={
            "unit": ({"peak_a": 10}, {"feed": "outlet:one"}),
            "cooler": ({"peak_a": 7}, {"feed": "outlet:two"}),
        },
    )


def test_two_parts_on_one_fuse_add_up_and_a_bigger_fuse_is_refused():
    finding = two_outlets(15)["fuse_overloaded"]
    assert finding.title == "F1: 17 A at the peak on 15 A (unit, supply)."
    assert "A bigger fuse is no answer" in finding.why
    assert "larger_fuse" not in {cure.code for cure in finding.cures}
    assert "battery_direct" in {cure.code for cure in finding.cures}


@pytest.mark.parametrize(
    ("recorded", "offered"),
    [
        ({"wire_ampacity_a": 25, "socket_a": 20, "blade": "mini"}, True),
        ({"wire_ampacity_a": 25, "socket_a": 15, "blade": "mini"}, False),
        ({"wire_ampacity_a": 15, "socket_a": 20, "blade": "mini"}, False),
        ({"wire_ampacity_a": 25, "blade": "mini"}, False),
        ({"wire_ampacity_a": 25, "socket_a": 20}, False),
    ],
)
def test_a_larger_fuse_only_on_wire_and_socket_recorded_to_bear_it(recorded, offered):
    cures = two_outlets(15, **recorded)["fuse_overloaded"].cures
    titles = [cure.title for cure in cures if cure.code == "larger_fuse"]
    assert titles == (["Fit 20 A in F1"] if offered else [])


@pytest.mark.parametrize(
    ("peak", "code"), [(10, "no_margin"), (8, None), (10.1, "fuse_overloaded")]
)
def test_a_peak_equal_to_the_rating_leaves_no_margin(peak, code):
    got = findings(fuses=[fuse(10)], ports={"unit": ({"peak_a": peak}, {"feed": "fuse:F1"})})
    assert set(got) == ({code} if code else set())
    if code == "no_margin":
        assert not got[code].blocking


def test_loads_of_the_car_on_the_same_fuse_count():
    got = findings(
        fuses=[fuse(15)],
        loads=[{"id": "heater", "feed": "fuse:F1", "peak_a": 10, "needs": {"tow": "any"}}],
        ports={"unit": ({"peak_a": 6}, {"feed": "fuse:F1"})},
    )
    assert "fuse_overloaded" in got


@pytest.mark.parametrize(
    "loads",
    [
        [("l", "lamp", 20)],
        [("l", "3. lamp", 20)],
        [("3.lamp", "", 20)],
        [("l", "lamp", 8), ("r", "lamp", 8)],
        [("l", "unit, supply", 8), ("r", "UNIT.supply", 8)],
    ],
)
def test_loads_count_whatever_they_are_called(loads):
    """A dot in a name is no fitted part, and two lamps of one name and size are two lamps."""
    got = findings(
        fuses=[fuse(15)],
        loads=[
            {"id": id_, "name": name, "feed": "fuse:F1", "peak_a": amps, "needs": {"tow": "any"}}
            for id_, name, amps in loads
        ],
        ports={"unit": ({"peak_a": 1}, {"feed": "fuse:F1"})},
    )
    total = sum(amps for _, _, amps in loads) + 1
    title = f"F1: {total} A at the peak on 15 A (unit, supply)."
    assert got["fuse_overloaded"].title == title
    assert got["fuse_overloaded"].blocking


def test_a_load_that_reaches_a_fuse_by_two_feeds_counts_once():
    got = findings(
        fuses=[fuse(15), {**fuse(15), "id": "F2", "feed": "fuse:F1"}],
        loads=[
            {"id": "l", "feed": ["fuse:F2", "fuse:F1"], "peak_a": 8, "needs": {"tow": "any"}},
        ],
        ports={"unit": ({"peak_a": 1}, {"feed": "fuse:F1"})},
    )
    assert got == {}


def test_a_tap_on_the_supply_side_does_not_load_the_fuse_but_needs_its_own():
    ports = {"unit": ({"peak_a": 20}, {"feed": "fuse:F1@supply"})}
    got = findings(fuses=[fuse(5)], ports=ports)
    assert set(got) == {"no_own_fuse"}
    assert not got["no_own_fuse"].blocking


def test_an_own_fuse_below_the_peak():
    ports = {"unit": ({"peak_a": 10}, {"feed": "battery", "own_fuse_a": 7.5})}
    assert set(findings(ports=ports)) == {"own_fuse_too_small"}


def test_a_part_on_its_own_battery_is_not_rated_against_the_car():
    ports = {"unit": ({"peak_a": 10, "min_supply_a": 15}, {"feed": "own", "ground": "own"})}
    assert findings(ports=ports) == {}
