"""What a part demands against what it gets: one finding for each way of failing."""

import pytest

from installs.domain.findings import Severity
from installs.domain.needs import judge
from installs.domain.sheet import parse_sheet
from tests.factories.sheets import sheet, step

F21 = {"id": "F21", "feed": "terminal:30", "rating_a": 15}
F33 = {"id": "F33", "feed": "terminal:15", "rating_a": 10}
OUTLETS = [
    {"id": "timer", "feed": "fuse:F21", "timer_minutes": 20},
    {"id": "picky", "feed": "fuse:F21", "conditions": ["something draws"]},
]


def judged(asked, connection, *steps, **parts):
    parts.setdefault("fuses", [F21, F33])
    return judge(parse_sheet(sheet(steps=steps, ports={"part": (asked, connection)}, **parts)))


def codes(judgement):
    return [finding.code.value for finding in judgement.findings]


@pytest.mark.parametrize(
    ("demand", "feed", "found"),
    [
        ("on", "fuse:F21", []),
        ("on", "fuse:F33", ["no_power"]),
        ("on", "outlet:timer", ["timed_power"]),
        ("on", "outlet:picky", ["conditional_power"]),
        ("on", "unknown", ["not_known"]),
        ("off", "fuse:F33", []),
        ("off", "fuse:F21", ["stays_awake"]),
        ("off", "outlet:timer", ["stays_awake"]),
        ("off", "outlet:picky", ["stays_awake"]),
        ("off", "unknown", ["not_known"]),
        ("any", "fuse:F33", []),
        ("any", "unknown", []),
        ("not_recorded", "fuse:F21", ["not_recorded"]),
    ],
)
def test_only_a_plain_answer_meets_a_demand(demand, feed, found):
    asked = {"demand": {"tow": demand}}
    judgement = judged(asked, {"feed": feed}, step(1, "key", value="off"), outlets=OUTLETS)
    assert codes(judgement) == found
    assert judgement.blocked is bool(found)
    assert judgement.port("PART", "supply").met("tow") is not bool(found)


def test_a_demand_nobody_wrote_about_is_not_recorded():
    assert codes(judged({"demand": {}}, {"feed": "fuse:F21"})) == ["not_recorded"]


def test_a_finding_says_why_with_the_step_and_the_consequence():
    asked = {"consequence": "the car is not braked", "severity": "CAUTION"}
    (finding,) = judged(
        asked,
        {"feed": "fuse:F21"},
        step(1, "key", value="off"),
        step(2, "fuse_out", target="F21"),
    ).findings
    assert finding.title == "part, supply: dead in tow."
    assert finding.why == "F21 is out (step 2). The car is not braked."
    assert finding.severity is Severity.CAUTION
    assert finding.state == "tow"


def test_states_that_fail_for_one_reason_share_a_finding():
    asked = {"demand": {"tow": "on", "breakaway": "on"}}
    (finding,) = judged(asked, {"feed": "fuse:F33"}, step(1, "key", value="off")).findings
    assert finding.states == ("tow", "breakaway")
    assert finding.title == "part, supply: dead in tow and after a breakaway."


def test_a_part_on_the_charge_line_dies_when_the_car_breaks_away():
    asked = {"demand": {"tow": "on", "breakaway": "on"}}
    found = judged(
        asked,
        {"feed": "coach", "ground": "coach"},
        step(1, "key", value="off"),
        step(2, "charge_connect"),
        charge_line={"lands": "load_side", "ground": "body"},
    ).findings
    assert [f.states for f in found] == [("breakaway",)]
    assert "torn off" in found[0].why


def test_a_stop_lamp_relay_must_be_energised_driving_and_at_rest_in_tow():
    asked = {"demand": {"drive": "on", "tow": "off"}}
    key_off = step(1, "key", value="off")
    assert codes(judged(asked, {"feed": "fuse:F33"}, key_off)) == []
    assert codes(judged(asked, {"feed": "fuse:F21"}, key_off)) == ["stays_awake"]


def test_a_signal_that_is_wanted_with_the_pedal_pressed():
    asked = {"demand": {"tow": "off"}, "with_pedal": {"tow": "on"}}
    stop = [{"id": "stop", "feed": "fuse:F21", "closed_when": "pedal"}]
    judgement = judged(asked, {"feed": "switch:stop"}, switches=stop)
    assert codes(judgement) == []
    assert judgement.port("PART", "supply").answers["tow+pedal"].value == "ON"
    dead = [{**stop[0], "feed": "fuse:F33"}]
    (finding,) = judged(asked, {"feed": "switch:stop"}, switches=dead).findings
    assert finding.title == "part, supply: dead in tow with the brake pedal pressed."


def test_a_piggyback_tap_goes_out_with_the_fuse_on_either_side():
    steps = (step(1, "key", value="off"), step(2, "fuse_out", target="F21"))
    spliced = {"feed": "fuse:F21@supply", "own_fuse_a": 5}
    assert codes(judged({}, spliced, *steps)) == []
    (finding,) = judged({}, {**spliced, "in_slot": True}, *steps).findings
    assert finding.why.startswith("Its tap sits in F21's slot and goes out with it (step 2).")


def test_a_connection_that_was_only_assumed_is_unknown():
    assert codes(judged({}, {"feed": "fuse:F21", "known": "assumed"})) == ["not_known"]


def test_a_port_nobody_connected_on_the_sheet_is_named():
    document = sheet(ports={"part": ({}, {"feed": "unknown"})})
    document["fittings"][0]["ports"] = {}
    (finding,) = judge(parse_sheet(document)).findings
    assert finding.code == "feed_not_recorded"
    assert finding.is_unknown
    assert finding.blocking


def test_two_parts_of_one_kind_are_told_apart_by_their_serial():
    document = sheet(ports={"part": ({}, {"feed": "unknown"})})
    document["fittings"].append({"id": "B", "kind": "part", "serial": "T-88120"})
    titles = [port.label for port in judge(parse_sheet(document)).ports]
    assert titles == ["part PART, supply", "part T-88120, supply"]


@pytest.mark.parametrize(
    ("needs", "found"),
    [
        ({"tow": "off"}, ["stays_awake"]),
        ({"tow": "on"}, []),
        (None, ["not_recorded"]),
        ({"drive": "on"}, ["not_recorded"]),
        ({"tow": "any"}, []),
    ],
)
def test_loads_of_the_car_have_needs_of_their_own_and_there_is_no_rule_for_all(needs, found):
    """Steering assist must be dead on one car and alive on another; a blank is not a pass."""
    assist = {"id": "eps", "name": "steering assist", "feed": "fuse:F21", "needs": needs}
    judgement = judge(parse_sheet(sheet(fuses=[F21], loads=[assist])))
    assert codes(judgement) == found
    assert judgement.blocked is bool(found)


def test_a_load_whose_feed_is_assumed_is_unknown():
    assist = {"id": "eps", "feed": "fuse:F21", "needs": {"tow": "off"}, "known": "assumed"}
    judgement = judge(parse_sheet(sheet(fuses=[F21], loads=[assist])))
    assert codes(judgement) == ["not_known"]


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"verdict": "not_allowed"}, ["not_allowed"]),
        ({"verdict": "not_established", "source": {}}, ["not_established"]),
        ({"source": {"kind": "verbal"}}, ["unverified_source"]),
        ({"source": {"kind": "customer_says"}}, ["unverified_source"]),
        ({"steps": [step(1, "gear", value="N")]}, ["key_not_stated"]),
        ({"steps": [step(1, "key", value="unknown")]}, ["key_not_stated"]),
    ],
)
def test_a_procedure_that_cannot_be_relied_on_blocks(change, found):
    document = sheet()
    document["procedure"].update(change)
    judgement = judge(parse_sheet(document))
    assert codes(judgement) == found
    assert judgement.blocked


def test_where_towing_is_not_allowed_every_part_but_its_own_battery_is_unknown():
    document = sheet(
        fuses=[F21],
        ports={
            "wired": ({}, {"feed": "fuse:F21"}),
            "stand_alone": ({}, {"feed": "own", "ground": "own"}),
        },
    )
    document["procedure"]["verdict"] = "not_allowed"
    judgement = judge(parse_sheet(document))
    assert judgement.port("WIRED", "supply").answers["tow"].value == "UNKNOWN"
    assert judgement.port("STAND_ALONE", "supply").answers["tow"].value == "ON"
    assert "not allowed" in judgement.of("WIRED")[0].why


@pytest.mark.parametrize("verdict", ["not_allowed", "not_established", "allowed"])
def test_an_own_battery_that_was_only_assumed_is_unknown_in_every_procedure(verdict):
    own = {"feed": "own", "ground": "own", "known": "assumed"}
    document = sheet(ports={"part": ({}, own)})
    document["procedure"]["verdict"] = verdict
    (port,) = judge(parse_sheet(document)).ports
    assert {answer.value.value for answer in port.answers.values()} == {"UNKNOWN"}


@pytest.mark.parametrize(
    ("steps", "found"),
    [
        ((), ["lamp_switch"]),
        ((step(2, "lamp_switch", value="auto"),), ["lamp_switch"]),
        ((step(2, "lamp_switch", value="off"),), []),
    ],
)
def test_a_car_with_automatic_lamps_needs_the_lamp_switch_off(steps, found):
    document = sheet(steps=(step(1, "key", value="acc"), *steps), automatic_lamps=True)
    judgement = judge(parse_sheet(document))
    assert codes(judgement) == found
    assert not judgement.blocked


def test_an_outlet_the_driver_can_change_is_named_for_the_annual_visit():
    outlet = {**OUTLETS[1], "user_can_change": True}
    judgement = judged({}, {"feed": "outlet:picky"}, outlets=[outlet])
    assert codes(judgement) == ["conditional_power", "can_be_changed"]
    assert "annual visit" in judgement.findings[1].why


@pytest.mark.parametrize(
    ("vehicle", "found"),
    [
        ({"year": 2014, "engine": "4-cyl"}, []),
        ({"year": 2015, "engine": "4-cyl"}, ["other_range"]),
        ({"year": 2014, "engine": "6-cyl"}, ["other_range"]),
        ({"year": 2014}, ["range_not_confirmed"]),
        ({"year": None, "engine": "4-cyl"}, ["range_not_confirmed"]),
    ],
)
def test_a_sheet_for_other_vehicles_blocks_and_a_blank_trait_is_asked(vehicle, found):
    document = sheet()
    document["vehicle"] = vehicle
    document["range"] = {"year_from": 2010, "year_to": 2014, "engine": "4-cyl"}
    assert codes(judge(parse_sheet(document))) == found


def test_step_order_is_part_of_the_judgement():
    document = sheet(
        steps=(
            step(1, "key", value="off"),
            step(2, "disconnect_open"),
            step(3, "parking_brake", value="release"),
        ),
        disconnect={"leg": "negative"},
        electric_parking_brake=True,
    )
    (finding,) = judge(parse_sheet(document)).findings
    assert finding.code == "step_order"
    assert finding.cures[0].title == "Move step 3 ahead of step 2."


def test_blocking_findings_come_first_and_graver_before_lighter():
    asked = {"severity": "CAUTION", "peak_a": 15}
    judgement = judged(
        asked, {"feed": "fuse:F33@supply"}, step(1, "key", value="off"), automatic_lamps=True
    )
    order = [(f.blocking, f.severity.value) for f in judgement.findings]
    assert order == [(True, "CAUTION"), (False, "WARNING"), (False, "NOTICE")]
