"""Published tow procedures, entered as procedures, and what they leave alive.

Sources, as far as they were read: a vehicle maker's service bulletin of July 2003; owner's
manuals of several vehicle makers, read in online copies; a maker's guide to towing four-wheel
drives. The terminal numbers are those of DIN 72552, read in secondary listings; in which key
positions they live is common practice, no source. Figures are used, not sentences, and no maker
is named.
"""

import pytest

from installs.domain.needs import judge
from installs.domain.sheet import parse_sheet
from tests.factories.sheets import sheet, step

FUSES = [
    {"id": "8", "feed": "terminal:15R", "rating_a": 7.5, "behind": ["accessory", "radio"]},
    {"id": "20", "feed": "terminal:15R", "rating_a": 20},
    {"id": "30", "feed": "terminal:30", "rating_a": 20},
    {"id": "15", "feed": "terminal:15", "rating_a": 10},
    {"id": "IGN", "feed": "terminal:15R", "rating_a": 30},
]
OUTLETS = [
    {"id": "accessory", "feed": "fuse:8", "rating_a": 15},
    {"id": "constant", "feed": "fuse:30", "rating_a": 15},
    {"id": "behind_ign", "feed": "fuse:IGN", "rating_a": 15},
]

# P1: a vehicle maker's service bulletin, July 2003: the shift first, key to ACC so that the
# steering unlocks, then the 7.5 A accessory fuse out; put back before driving.
P1 = {
    "verdict": "allowed",
    "source": {"kind": "bulletin", "title": "A vehicle maker's service bulletin, July 2003"},
    "steps": [
        step(1, "gear", value="N", text="From D to N with the engine running"),
        step(2, "key", value="acc"),
        step(3, "fuse_out", target="8", after=[1], reverse="Put fuse 8 back before driving"),
    ],
}
# P2: an owner's manual: D held 5 s, then N, engine run for 3 min, ACC, 65 mph, every day anew.
P2 = {
    "verdict": "allowed",
    "source": {"kind": "document", "title": "A vehicle maker's owner's manual, 2010"},
    "steps": [
        step(1, "gear", value="N", text="Hold D for 5 s, then N"),
        step(2, "engine_run", value=3, after=[1]),
        step(3, "key", value="acc"),
    ],
    "limits": {"max_speed_mph": 65, "engine_run_minutes": 3, "daily_repeat": True},
}
# P3: owner's manuals of 2005 and 2007: as P2, and the large ignition fuse out.
P3 = {
    "verdict": "allowed",
    "source": {"kind": "document", "title": "A vehicle maker's owner's manuals, 2005 and 2007"},
    "steps": [
        step(1, "key", value="acc"),
        step(2, "gear", value="N", text="Last shift from D to N"),
        step(3, "engine_run", value=3),
        step(4, "fuse_out", target="IGN", reverse="Put it back after parking"),
    ],
}
# P4: a maker's guide for four-wheel drives: transfer case N with the parking brake set
# first, released only when attached, key in LOCK and out.
P4 = {
    "verdict": "allowed",
    "source": {"kind": "document", "title": "A vehicle maker's guide to towing four-wheel drives"},
    "steps": [
        step(1, "parking_brake", value="set"),
        step(2, "transfer_case", value="N", after=[1]),
        step(3, "other", text="Attach the tow bar"),
        step(4, "parking_brake", value="release", after=[3]),
        step(5, "key", value="removed"),
    ],
}
# P5: an off-road maker's manual: transfer case N, automatic in P, forward only. That some
# years also take the negative cable off is from memory.
P5 = {
    "verdict": "allowed",
    "source": {"kind": "document", "title": "An off-road vehicle maker's manual"},
    "steps": [
        step(1, "transfer_case", value="N"),
        step(2, "gear", value="P"),
        step(3, "key", value="off"),
        step(4, "disconnect_open", value="negative", text="Take the negative cable off"),
    ],
    "limits": {"direction": "forward only; no tow bar clamped to the bumper"},
}
# P6 and P8: tables and manuals that forbid it. P7: automatic never; manual gearbox below
# 60 mph and 500 miles, key OFF.
P6 = {
    "verdict": "not_allowed",
    "source": {"kind": "document", "title": "A vehicle maker's towing table, 2021"},
}
P7 = {
    "verdict": "allowed",
    "source": {"kind": "document", "title": "A vehicle maker's manual, manual gearbox"},
    "steps": [step(1, "gear", value="N"), step(2, "key", value="off")],
    "limits": {"max_speed_mph": 60, "max_distance_mi": 500},
}
P8 = {
    "verdict": "not_allowed",
    "source": {"kind": "document", "title": "A vehicle maker's manual, 2006"},
}


def judged(procedure, **parts):
    parts.setdefault("fuses", FUSES)
    parts.setdefault("outlets", OUTLETS)
    document = sheet(**parts)
    document["procedure"] = procedure
    return judge(parse_sheet(document))


def alive(procedure, **parts):
    """Which terminals a test lamp finds alive in the tow state."""
    walk = judged(procedure, **parts).views.paths["tow"]
    points = ("terminal:30", "terminal:15R", "terminal:15")
    return {p.removeprefix("terminal:") for p in points if walk.point(p).value == "ON"}


@pytest.mark.parametrize(
    ("procedure", "terminals"),
    [
        (P1, {"30", "15R"}),
        (P2, {"30", "15R"}),
        (P3, {"30", "15R"}),
        (P4, {"30"}),
        (P5, set()),
        (P6, set()),
        (P7, {"30"}),
        (P8, set()),
    ],
    ids=["P1", "P2", "P3", "P4", "P5", "P6", "P7", "P8"],
)
def test_terminals_live_while_towing(procedure, terminals):
    assert alive(procedure) == terminals


def test_only_what_hangs_on_the_pulled_fuse_dies_with_it():
    walk = judged(P1).views.paths["tow"]
    assert walk.point("fuse:8").value == "OFF"
    assert walk.point("fuse:20").value == "ON"
    walk = judged(P3).views.paths["tow"]
    assert walk.point("outlet:behind_ign").value == "OFF"
    assert walk.point("outlet:accessory").value == "ON"


@pytest.mark.parametrize("procedure", [P6, P8], ids=["P6", "P8"])
def test_where_the_maker_forbids_it_nothing_can_be_signed(procedure):
    judgement = judged(procedure, ports=UNIT_IN_ACCESSORY)
    assert "not_allowed" in {finding.code for finding in judgement.findings}
    assert judgement.blocked
    assert judgement.port("UNIT", "supply").answers["tow"].value == "UNKNOWN"


@pytest.mark.parametrize("procedure", [P1, P2, P3, P4, P5, P7])
def test_the_published_order_has_no_fault(procedure):
    assert "step_order" not in {finding.code for finding in judged(procedure).findings}


def test_limits_are_kept_as_published():
    for procedure, speed, distance in ((P2, 65, None), (P7, 60, 500)):
        document = sheet()
        document["procedure"] = procedure
        document["feed_map"]["fuses"] = FUSES
        limits = parse_sheet(document).procedure.limits
        assert (limits.max_speed_mph, limits.max_distance_mi) == (speed, distance)


UNIT = {"demand": {"tow": "on"}, "min_supply_a": 15}
UNIT_IN_ACCESSORY = {"unit": ({"demand": {"tow": "on"}}, {"feed": "outlet:accessory"})}


def test_a_portable_unit_in_the_accessory_outlet_dies_with_the_fuse_of_the_bulletin():
    """Alive before the pull, dead after it, alive again on a constant feed of its own."""
    before = {**P1, "steps": P1["steps"][:2]}
    assert not judged(before, ports=UNIT_IN_ACCESSORY).blocked
    (finding,) = judged(P1, ports=UNIT_IN_ACCESSORY).findings
    assert finding.code == "no_power"
    assert finding.why == "8 is out (step 3)."
    moved = {"unit": (UNIT, {"feed": "fuse:30", "own_fuse_a": 15})}
    assert not judged(P1, ports=moved).blocked


def test_an_outlet_whose_circuit_was_never_confirmed_is_unknown_and_not_on():
    outlet = [{"id": "accessory", "feed": "fuse:20", "known": "assumed"}]
    judgement = judged(P1, ports=UNIT_IN_ACCESSORY, outlets=outlet)
    assert judgement.port("UNIT", "supply").answers["tow"].value == "UNKNOWN"


@pytest.mark.parametrize(("feed", "value"), [("fuse:20", "OFF"), ("fuse:30", "ON")])
def test_with_the_key_out_the_accessory_terminal_is_dead_and_30_lives(feed, value):
    judgement = judged(P4, ports={"unit": (UNIT, {"feed": feed})})
    assert judgement.port("UNIT", "supply").answers["tow"].value == value


@pytest.mark.parametrize(
    ("connection", "tow", "breakaway"),
    [
        ({"feed": "fuse:30"}, "OFF", "OFF"),
        ({"feed": "battery", "ground": "body"}, "OFF", "OFF"),
        ({"feed": "battery", "ground": "battery_negative_post"}, "ON", "ON"),
        ({"feed": "own", "ground": "own"}, "ON", "ON"),
    ],
)
def test_with_the_negative_cable_off_feed_and_return_both_have_to_be_ahead_of_it(
    connection, tow, breakaway
):
    judgement = judged(P5, ports={"unit": ({}, connection)})
    answers = judgement.port("UNIT", "supply").answers
    assert (answers["tow"].value, answers["breakaway"].value) == (tow, breakaway)


@pytest.mark.parametrize(
    ("ground", "tow"), [("body", "ON"), ("none", "OFF"), ("unknown", "UNKNOWN")]
)
def test_with_the_negative_cable_off_a_charge_line_feeds_only_what_shares_its_ground(ground, tow):
    plugged = {**P5, "steps": [*P5["steps"], step(5, "charge_connect")]}
    judgement = judged(
        plugged,
        ports={"unit": ({}, {"feed": "fuse:30"})},
        charge_line={"lands": "load_side", "ground": ground},
    )
    answers = judgement.port("UNIT", "supply").answers
    assert answers["tow"].value == tow
    assert answers["breakaway"].value == "OFF"


def test_a_brake_unit_on_an_isolated_car_gets_the_trades_remedies_to_choose_from():
    """Common practice, no source: feed from the coach, ahead of the disconnect, or no wire."""
    plugged = {**P5, "steps": [*P5["steps"], step(5, "charge_connect")]}
    kinds = {"stand_alone": {"name": "Brake unit without wires", "cures": ["no_power"]}}
    asked = {"demand": {"tow": "on", "breakaway": "any"}}
    judgement = judged(
        plugged,
        ports={"unit": (asked, {"feed": "fuse:30"})},
        charge_line={"lands": "battery_side", "ground": "none"},
        kinds=kinds,
    )
    (finding,) = judgement.of("UNIT")
    assert finding.blocking
    sorts = {cure.code for cure in finding.cures}
    assert {"charge_line", "battery_direct", "added_part"} <= sorts


@pytest.mark.parametrize(
    ("procedure", "value"),
    [(P4, "OFF"), (P1, "OFF"), ({**P1, "steps": [step(1, "key", value="on")]}, "ON")],
)
def test_a_stop_lamp_switch_on_15_gives_no_stop_lamps_with_the_key_off(procedure, value):
    """The brake unit presses the pedal; neither lamps nor the signal to the coach follow."""
    judgement = judged(
        procedure,
        switches=[{"id": "stop", "feed": "fuse:15", "closed_when": "pedal"}],
        ports={"signal": ({"demand": {"tow": "any"}, "with_pedal": {"tow": "on"}},
                          {"feed": "switch:stop"})},
    )  # fmt: skip
    assert judgement.port("SIGNAL", "supply").answers["tow+pedal"].value == value


@pytest.mark.parametrize(("procedure", "value"), [(P4, "OFF"), (P1, "OFF")])
def test_a_relay_with_its_coil_on_15_leaves_its_load_dead_though_its_contact_is_fed(
    procedure, value
):
    relay = {"id": "R", "coil": "fuse:15", "feed": "fuse:30"}
    judgement = judged(procedure, relays=[relay], ports={"lamp": ({}, {"feed": "relay:R"})})
    assert judgement.views.paths["tow"].point("fuse:30").value == "ON"
    assert judgement.port("LAMP", "supply").answers["tow"].value == value


def test_the_trades_rule_for_a_stop_lamp_relay_and_its_transmitter():
    """Coil ahead of a fuse of the key, transmitter behind a constant one (no source)."""
    ports = {
        "relay": ({"demand": {"drive": "on", "tow": "off"}},
                  {"feed": "fuse:15@supply", "own_fuse_a": 2}),
        "transmitter": ({"demand": {"drive": "on", "tow": "on"}}, {"feed": "fuse:30"}),
    }  # fmt: skip
    assert judged(P1, ports=ports).findings == ()


def test_a_feed_nobody_measured_blocks_the_sign_off():
    judgement = judged(P1, ports={"unit": ({}, {"feed": "unknown"})})
    assert judgement.port("UNIT", "supply").answers["tow"].value == "UNKNOWN"
    assert judgement.blocked


def test_the_outlet_behind_a_portable_unit_has_at_least_15_a():
    """Common practice, no source: less than 15 A means a separate outlet."""
    small = [{"id": "accessory", "feed": "fuse:20", "rating_a": 10}]
    unit = {"unit": (UNIT, {"feed": "outlet:accessory"})}
    (finding,) = judged(P1, ports=unit, outlets=small).findings
    assert finding.code == "supply_too_small"
    enough = [{"id": "accessory", "feed": "fuse:20", "rating_a": 15}]
    assert judged(P1, ports=unit, outlets=enough).findings == ()


def test_an_unpowered_brake_unit_is_a_warning_and_a_flat_battery_a_notice():
    """Signal words of ANSI Z535.4-2007, section 4.14, read in a label maker's guide."""
    (finding,) = judged(P1, ports=UNIT_IN_ACCESSORY).findings
    assert finding.severity == "WARNING"
    (lamps,) = judged(P1, automatic_lamps=True).findings
    assert lamps.severity == "NOTICE"
