"""The network of a sheet: it agrees with the walk, with hand sums, and says what is missing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given

from installs.domain.needs import judge
from installs.domain.network import FedNetwork, Readings, network_of
from installs.domain.numeric import numbers_of
from installs.domain.sheet import Sheet, parse_sheet
from installs.domain.views import Views
from tests.factories.sheets import sheet, step
from tests.standards.test_reachability_networkx import circuits
from vehicles.domain.answers import Value
from vehicles.domain.bands import Band, Verdict, band, give_or_take
from vehicles.domain.circuit import solve
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.fuse import Side
from vehicles.domain.inputs import InputError
from vehicles.domain.limits import limit, limit_band
from vehicles.domain.wire import sae_area_mm2, wire_ohms

DEMO = Path(__file__).parents[3] / "shop" / "demo" / "sheets"
UNIT = {"peak_a": 10, "working_a": 6, "standby_a": 0.2}


def car(asked: dict | None = None, connection: dict | None = None, *steps: dict, **parts) -> Sheet:
    """A car with F08 (15 A on terminal 30), an outlet on it, and one brake unit."""
    fuse = {"id": "F08", "feed": "terminal:30", "rating_a": 15, "blade": "mini"}
    fuses = [fuse | parts.pop("fuse", {}), *parts.pop("fuses", [])]
    ports = {"unit": ({**UNIT, **(asked or {})}, {"feed": "outlet:dash", **(connection or {})})}
    return parse_sheet(
        sheet(
            fuses=fuses,
            outlets=[{"id": "dash", "feed": "fuse:F08", "rating_a": 15}],
            ports=ports,
            steps=(step(1, "key", value="acc"), *steps),
            **parts,
        )
    )


def tow(data: Sheet, **more) -> FedNetwork:
    return network_of(data, "tow", **more)


def volts_of(fed: FedNetwork, user: str = "UNIT.supply") -> float:
    port = fed.ports[user]
    return solve(fed.network).across(port.plus, port.minus)


# -- agreement -------------------------------------------------------------------------


@given(circuits())
def test_a_port_has_volts_exactly_where_the_walk_says_on(drawn) -> None:
    """Random maps without assumptions: ON has volts, OFF has none, whatever else is on the map."""
    data, state = drawn
    feed_map = FeedMap.from_dict(data)
    points = [point for point in feed_map.points if point not in ("own", "unknown")]
    wanted = {"name": "supply", "demand": {"tow": "on"}, "peak_a": 1}
    grounds = ("body", "battery_negative_post", "coach")
    feeds = [(point, ground) for point in points for ground in grounds]
    whole = Sheet.from_dict(
        {
            "vehicle": {},
            "feed_map": data,
            "procedure": {"verdict": "allowed"},
            "kinds": {f"k{n}": {"name": f"k{n}", "ports": [wanted]} for n in range(len(feeds))},
            "fittings": [
                {"id": f"A{n}", "kind": f"k{n}",
                 "ports": {"supply": {"feed": feed, "ground": ground}}}
                for n, (feed, ground) in enumerate(feeds)
            ],
        }
    )  # fmt: skip
    views = Views(whole.feed_map, {"tow": state})
    fed = network_of(whole, "tow", views=views)
    solved = solve(fed.network)
    for port in fed.ports.values():
        volts = solved.across(port.plus, port.minus)
        assert (volts > 1) == (port.answer.value is Value.ON), (port.label, volts, port.answer)


@pytest.mark.parametrize("file", sorted(DEMO.glob("*.json")), ids=lambda file: file.stem)
def test_every_sheet_of_the_demo_has_numbers(file: Path) -> None:
    data = parse_sheet(json.loads(file.read_text(encoding="utf-8")))
    views = judge(data).views
    for name, state in numbers_of(data, views=views).items():
        for user, port in state.ports.items():
            answer = state.fed.ports[user].answer
            if answer.value is Value.OFF:
                assert port.volts == Band(0, 0, 0), (name, user)
                assert port.held is None
            elif answer.value is Value.UNKNOWN:
                assert port.held.verdict is Verdict.UNKNOWN
                assert port.held.measure
            elif port.volts is not None:
                assert 0 <= port.volts.low <= port.volts.high < 15


# -- by hand ---------------------------------------------------------------------------


def test_volts_at_the_port_by_hand() -> None:
    wire = {"awg": 14, "length_m": 3}
    fed = tow(car(connection={"wire": wire}))
    copper = wire_ohms(
        sae_area_mm2(14), 3, at_c=limit("wire_temperature_c"), lay=limit("strand_share")
    )
    contacts = 3 * limit("contact_ohm")  # positive lead, terminal 30, the unit's ground
    harness = 2 * limit("harness_ohm")  # to the fuse, to the outlet
    fuse = limit("fuse_volts_at_rating") / 15
    ohms = limit("battery_ohm") + contacts + harness + fuse + copper + limit("body_return_ohm")
    assert volts_of(fed) == pytest.approx(limit("car_volts") - 10 * ohms)
    assert fed.behind_ports == {"fuse:F08"}


def test_a_return_wire_counts_as_long_as_the_feed() -> None:
    wire = {"mm2": 2.5, "length_m": 4}
    there = tow(car(connection={"wire": wire, "ground": "battery_negative_post"}))
    wires = {r.name: r.ohms.value for r in there.network.resistors}
    assert wires["wire:UNIT.supply"] == wires["return:UNIT.supply"]
    assert "body" in wires  # the body is there for others, and is never nothing


def test_the_body_is_never_silently_zero() -> None:
    body = next(r for r in tow(car()).network.resistors if r.name == "body")
    assert body.ohms == limit_band("body_return_ohm")
    assert body.known == "assumed"
    read = Readings(ohms={"body": give_or_take(0.02, 0.001)})
    measured = next(r for r in tow(car(), readings=read).network.resistors if r.name == "body")
    assert (measured.ohms.value, measured.known) == (0.02, "measured")


def test_a_pulled_fuse_and_a_negative_disconnect_leave_nothing() -> None:
    out = tow(car(None, None, step(2, "fuse_out", target="F08")))
    assert volts_of(out) == 0
    assert solve(out.network).amps.get("UNIT.supply", 0) == 0
    negative = car(None, None, step(2, "disconnect_open"), disconnect={"leg": "negative"})
    assert volts_of(tow(negative)) == 0
    ahead = car(None, {"feed": "battery", "ground": "battery_negative_post"},
                step(2, "disconnect_open"), disconnect={"leg": "negative"})  # fmt: skip
    assert volts_of(tow(ahead)) > 11


def test_a_tap_in_the_slot_goes_out_with_the_fuse() -> None:
    tapped = car(None, {"feed": "fuse:F08@supply", "in_slot": True},
                 step(2, "fuse_out", target="F08"))  # fmt: skip
    assert volts_of(tow(tapped)) == 0
    assert volts_of(network_of(tapped, "drive")) > 10


def test_a_charge_line_lifts_the_port_until_the_pin_is_out() -> None:
    line = {"lands": "load_side", "ground": "body"}
    data = car(None, None, step(2, "charge_connect"), charge_line=line)
    assert volts_of(tow(data)) > volts_of(tow(car()))
    assert volts_of(network_of(data, "breakaway")) == pytest.approx(volts_of(tow(car())))
    charging = solve(tow(data, draw="standby_a").network).amps["battery"]
    assert charging < 0  # the battery takes current


def test_a_relay_and_its_coil_are_in_it() -> None:
    relay = {"id": "R1", "coil": "terminal:15R", "feed": "fuse:F08"}
    fed = tow(car(None, {"feed": "relay:R1"}, relays=[relay]))
    assert volts_of(fed) > 10
    coil = next(load for load in fed.network.loads if load.name == "coil:R1")
    assert coil.ohms == limit_band("coil_ohm")
    rest = {**relay, "contact": "normally_closed"}
    assert volts_of(tow(car(None, {"feed": "relay:R1"}, relays=[rest]))) == 0


def test_a_lamp_switched_on_its_ground_side() -> None:
    switch = {"id": "S1", "feed": "body", "closed_when": "pedal", "known": "measured"}
    data = car(None, {"ground": "switch:S1"}, switches=[switch])
    assert volts_of(tow(data)) == 0
    assert volts_of(network_of(data, "tow+pedal")) > 10


# -- numbers and limits ----------------------------------------------------------------


def test_a_thin_long_wire_fails_where_yes_or_no_would_pass() -> None:
    thin = car(connection={"wire": {"awg": 18, "length_m": 9}})
    assert judge(thin).port("UNIT", "supply").answers["tow"].value is Value.ON
    exact = {code: band(limit(code)) for code in (
        "car_volts", "battery_ohm", "body_return_ohm", "contact_ohm", "harness_ohm",
        "fuse_volts_at_rating")}  # fmt: skip
    port = numbers_of(thin, settings=exact, least_v=10.5)["tow"].ports["UNIT.supply"]
    assert port.held.verdict is Verdict.FAIL
    thick = car(connection={"wire": {"awg": 10, "length_m": 9}})
    port = numbers_of(thick, settings=exact, least_v=10.5)["tow"].ports["UNIT.supply"]
    assert port.held.verdict is Verdict.PASS


def test_doubt_names_the_one_measurement() -> None:
    port = numbers_of(car())["tow"].ports["UNIT.supply"]
    assert port.held.verdict is Verdict.CLOSE
    assert port.best.part == "wire:UNIT.supply"  # nobody recorded its gauge and length
    read = Readings(
        ohms={
            "wire:UNIT.supply": give_or_take(0.03, 0.002),
            "body": give_or_take(0.01, 0.001),
            "fuse:F08@supply<0": give_or_take(0.02, 0.002),
            "outlet:dash<0": give_or_take(0.02, 0.002),
        },
        volts={"battery": give_or_take(12.5, 0.02)},
    )
    settled = numbers_of(car(), readings=read)["tow"].ports["UNIT.supply"]
    assert settled.held.verdict is Verdict.PASS
    assert settled.volts.width < port.volts.width / 3


def test_a_port_without_a_current_is_unknown_and_widens_the_others() -> None:
    data = sheet(
        fuses=[{"id": "F08", "feed": "terminal:30", "rating_a": 15}],
        ports={
            "unit": (UNIT, {"feed": "fuse:F08"}),
            "fridge": ({}, {"feed": "fuse:F08"}),
        },
    )
    found = numbers_of(parse_sheet(data))["tow"]
    assert found.ports["FRIDGE.supply"].held.measure == ("measure the current of fridge, supply",)
    amps = found.fuses["F08"].amps
    assert (amps.low, amps.value, amps.high) == pytest.approx((10, 17.5, 25))
    alone = numbers_of(car(None, {"feed": "fuse:F08"}))["tow"].ports["UNIT.supply"]
    assert found.ports["UNIT.supply"].volts.low < alone.volts.low


def test_own_battery_and_unmeasured_feeds_say_what_to_measure() -> None:
    own = numbers_of(car(None, {"feed": "own", "ground": "own"}))["breakaway"]
    assert "own battery of" in own.ports["UNIT.supply"].held.measure[0]
    assumed = numbers_of(car(None, {"known": "assumed"}))["tow"].ports["UNIT.supply"]
    assert assumed.held.measure[0].startswith("measure whether unit, supply is alive")
    nothing = car()
    blank = Sheet.from_dict({**nothing.to_dict(), "procedure": {"verdict": "not_established"}})
    unsettled = numbers_of(blank)["tow"].ports["UNIT.supply"]
    assert unsettled.held.verdict is Verdict.UNKNOWN
    assert numbers_of(blank)["drive"].ports["UNIT.supply"].volts.value > 10


def test_two_parts_on_one_fuse_and_what_its_wire_bears() -> None:
    data = sheet(
        fuses=[{"id": "F08", "feed": "terminal:30", "rating_a": 15, "blade": "regular",
                "wire_ampacity_a": 15}],
        ports={"unit": (UNIT, {"feed": "fuse:F08"}),
               "fridge": ({"peak_a": 7}, {"feed": "fuse:F08"})},
    )  # fmt: skip
    found = numbers_of(parse_sheet(data))["tow"].fuses["F08"]
    assert found.amps.value == pytest.approx(17)
    assert found.verdict.side is Side.WIRE_TOO_SMALL


def test_draws_of_standby_and_peak() -> None:
    volts = [volts_of(tow(car(), draw=draw)) for draw in ("standby_a", "working_a", "peak_a")]
    assert volts == sorted(volts, reverse=True)


def test_consumers_of_the_car_count_or_are_told_to_be_left_out() -> None:
    loads = [
        {"id": "lamps", "name": "tail lamps", "feed": "fuse:F08", "peak_a": 3, "needs": {}},
        {"id": "radio", "feed": "fuse:F08", "needs": {}},
    ]
    fed = tow(car(loads=loads))
    assert fed.left_out == ("radio",)
    assert volts_of(fed) < volts_of(tow(car()))
    read = Readings(amps={"load:radio": band(2)})
    assert tow(car(loads=loads), readings=read).left_out == ()


def test_without_a_charge_line_breakaway_equals_tow() -> None:
    found = numbers_of(car())
    assert found["breakaway"].ports == found["tow"].ports
    assert found["breakaway"].state == "breakaway"
    assert found["breakaway"].fed.state == "breakaway"


def test_a_gauge_that_does_not_exist_costs_one_port_its_number() -> None:
    data = car(connection={"wire": {"awg": 14.5, "length_m": 3}})
    held = numbers_of(data)["tow"].ports["UNIT.supply"].held
    assert held.verdict is Verdict.UNKNOWN
    assert held.measure[0].startswith("correct it: Wire to unit, supply: there is no gauge “14.5”")


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: tow(car(), draw="most_a"), "Draw: “most_a” is none of"),
        (lambda: network_of(car(), "reverse"), "State: “reverse” is none of"),
        (
            lambda: tow(car(), readings=Readings(ohms={"body": band(0)})),
            "Resistance of the body: 0 was given; it must be more than 0.",
        ),
    ],
)
def test_bad_input_is_named(call, sentence) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert sentence in str(caught.value)
