"""Cures, computed: what would help, what else it changes, best first."""

from hypothesis import given, settings
from hypothesis import strategies as st

from installs.domain.needs import judge
from installs.domain.sheet import parse_sheet
from tests.factories.sheets import sheet, step

FUSES = [
    {"id": "F08", "feed": "terminal:15R", "rating_a": 7.5, "behind": ["radio"]},
    {"id": "F21", "feed": "terminal:30", "rating_a": 15},
    {"id": "F27", "feed": "terminal:30", "rating_a": 20},
    {"id": "F30", "feed": "terminal:30", "rating_a": 20, "behind": ["door locks"]},
    {"id": "F33", "feed": "terminal:15", "rating_a": 10},
    {"id": "F34", "feed": "terminal:30", "rating_a": 30, "known": "assumed"},
]
ACC = (step(1, "key", value="acc"), step(5, "fuse_out", target="F08"))
UNIT = {"min_supply_a": 15, "peak_a": 10, "standby_a": 0.2}


def cures(asked, connection, steps=ACC, code="no_power", **parts):
    parts.setdefault("fuses", FUSES)
    document = sheet(steps=steps, ports={"unit": (asked, connection)}, **parts)
    (finding,) = [f for f in judge(parse_sheet(document)).findings if f.code == code]
    return finding.cures


def titles(found, sort):
    return [cure.title for cure in found if cure.code == sort]


def test_other_live_feeds_with_enough_rating_are_proposed_quiet_ones_first():
    found = cures(UNIT, {"feed": "outlet:dash"}, outlets=[{"id": "dash", "feed": "fuse:F08"}])
    assert titles(found, "other_feed") == [
        "Feed it from F21's load side (15 A)",
        "Feed it from F27's load side (20 A)",
    ]
    first = found[0]
    assert (first.feed, first.ground) == ("fuse:F21", "body")
    assert "10 A more there at its peak, 5 A left." in first.notes
    assert "It draws 0.2 A at rest for as long as the vehicle is towed." in first.notes
    assert "It needs an outlet of its own there." in first.notes
    assert len(found) <= 5


def test_a_fuse_that_something_shares_comes_after_its_equal_and_says_with_what():
    found = cures(UNIT, {"feed": "fuse:F08"}, fuses=[FUSES[0], *FUSES[2:4]])
    assert titles(found, "other_feed") == [
        "Feed it from F27's load side (20 A)",
        "Feed it from F30's load side (20 A)",
    ]
    shared = "If that fuse blows, this dies too: door locks."
    feeds = [cure for cure in found if cure.code == "other_feed"]
    assert [shared in cure.notes for cure in feeds] == [False, True]


def test_a_bigger_spare_position_comes_before_a_small_fuse_that_a_lamp_needs():
    lamp = {"id": "F05", "feed": "terminal:30", "rating_a": 7.5, "behind": ["tail lamp left"]}
    spare = {"id": "F40", "feed": "terminal:30", "rating_a": 30}
    found = cures({"peak_a": 5}, {"feed": "fuse:F08"}, fuses=[FUSES[0], lamp, spare])
    assert titles(found, "other_feed") == [
        "Feed it from F40's load side (30 A)",
        "Feed it from F05's load side (7.5 A)",
    ]


def test_what_is_left_on_a_shared_fuse_counts_no_unknown_draw_as_nothing():
    loads = [
        {"id": "locks", "feed": "fuse:F30", "name": "door locks", "needs": {"tow": "any"}},
        {"id": "fan", "feed": "fuse:F30", "name": "fan", "peak_a": 3, "needs": {"tow": "any"}},
    ]
    found = cures(UNIT, {"feed": "fuse:F08"}, fuses=[FUSES[0], FUSES[3]], loads=loads)
    (shared,) = [c for c in found if c.feed == "fuse:F30" and c.code == "other_feed"]
    assert (
        "10 A more there at its peak, 7 A left, not counting door locks: "
        "nobody recorded the draw." in shared.notes
    )


def test_no_cure_lies_on_a_dead_an_assumed_or_a_too_small_feed():
    found = cures(UNIT, {"feed": "fuse:F08"})
    feeds = {cure.feed.removesuffix("@supply") for cure in found if cure.feed}
    assert feeds <= {"fuse:F21", "fuse:F27", "fuse:F30", "battery", "own"} | {"fuse:F08"}
    bigger = cures({"min_supply_a": 18}, {"feed": "fuse:F08"})
    assert not [cure for cure in bigger if cure.feed in ("fuse:F21", "fuse:F34")]


def test_what_others_draw_counts_and_its_own_draw_does_not():
    """A cooler's 8 A fill F21; the unit's own 10 A do not stand in its way on F27."""
    fuses = [{**FUSES[1]}, {**FUSES[2], "rating_a": 12}]
    document = sheet(
        fuses=fuses,
        outlets=[{"id": "small", "feed": "fuse:F27", "rating_a": 5}],
        ports={
            "unit": ({"peak_a": 10}, {"feed": "outlet:small"}),
            "cooler": ({"peak_a": 8}, {"feed": "fuse:F21"}),
        },
    )
    (finding,) = [f for f in judge(parse_sheet(document)).of("UNIT") if f.blocking]
    assert finding.code == "fuse_overloaded"
    feeds = {cure.feed for cure in finding.cures if not cure.feed.endswith("@supply")}
    assert "fuse:F27" in feeds
    assert "fuse:F21" not in feeds


def test_the_supply_side_of_a_pulled_fuse_is_the_smallest_change():
    found = cures({"peak_a": 1}, {"feed": "fuse:F08"})
    assert found[0].title == "Move its tap to F08's supply side"
    assert "Its wire needs a fuse of its own (1 A), close to the tap." in found[0].notes


def test_a_bypass_across_the_pulled_fuse_says_what_wakes_with_it():
    loads = [{"id": "clock", "feed": "fuse:F08", "needs": {"tow": "any"}}]
    small = {"peak_a": 1, "demand": {"drive": "on", "tow": "on"}}
    found = cures(small, {"feed": "fuse:F08"}, loads=loads, fuses=FUSES[:1])
    (bypass,) = [cure for cure in found if cure.code == "bypass_switch"]
    assert bypass.title == "Fit a switch across F08, closed for towing"
    assert bypass.notes[0] == "Then also awake in tow: clock, radio."
    assert found[-1] is bypass


def test_a_relay_that_must_rest_in_tow_moves_to_a_feed_of_the_key():
    asked = {"demand": {"drive": "on", "tow": "off"}, "peak_a": 0.2}
    found = cures(asked, {"feed": "fuse:F21"}, code="stays_awake")
    assert {cure.feed for cure in found} == {"fuse:F33", "fuse:F08"}
    assert "own_battery" not in {cure.code for cure in found}


def test_a_ground_behind_an_open_disconnect_is_moved_to_the_post():
    steps = (step(1, "key", value="off"), step(2, "disconnect_open"))
    found = cures({}, {"feed": "fuse:F21"}, steps, disconnect={"leg": "negative"})
    assert found[0].title == "Take its ground to the battery's negative post"
    assert "This part then stays on the battery while the disconnect is open." in found[0].notes
    assert titles(found, "battery_direct")


def test_a_disconnect_in_the_positive_leg_leaves_the_post_itself():
    steps = (step(1, "key", value="off"), step(2, "disconnect_open"))
    found = cures({}, {"feed": "fuse:F21"}, steps, disconnect={"leg": "positive"})
    assert [cure.code for cure in found] == ["battery_direct", "own_battery"]


def test_the_charge_line_is_a_cure_only_while_the_procedure_plugs_it_in():
    line = {"lands": "load_side", "ground": "none"}
    steps = (step(1, "key", value="off"), step(2, "disconnect_open", value="positive"))
    plugged = (*steps, step(3, "charge_connect"))
    with_plug = cures({}, {"feed": "fuse:F21"}, plugged, charge_line=line)
    assert titles(with_plug, "charge_line") == [
        "Feed it from the coach's charge line, and take its ground through the coach's charge line"
    ]
    without = cures({}, {"feed": "fuse:F21"}, steps, charge_line=line)
    assert not titles(without, "charge_line")


def test_a_piggyback_tap_may_leave_the_slot():
    steps = (step(1, "key", value="off"), step(2, "fuse_out", target="F21"))
    found = cures({"peak_a": 1}, {"feed": "fuse:F21@supply", "in_slot": True}, steps)
    assert found[0].title == "Move its tap out of F21's slot, onto the wire behind it"


def test_parts_of_the_catalogue_name_what_they_cure():
    kit = {"kit": {"name": "Outlet kit", "cures": ["no_power"], "cure_text": "Own fuse."}}
    found = cures(UNIT, {"feed": "fuse:F08"}, kinds=kit)
    (part,) = [cure for cure in found if cure.code == "added_part"]
    assert (part.title, part.notes) == ("Add: Outlet kit", ("Own fuse.",))


def test_an_unknown_names_the_one_thing_to_measure():
    ground = cures({}, {"feed": "fuse:F21", "ground": "unknown"}, code="not_known")
    assert ground[0].title.startswith("Measure ohms from its ground wire")
    feed = cures({}, {"feed": "fuse:F34"}, code="not_known")
    assert feed[0].title.startswith("Measure volts at fuse F34, both sides")
    lost = cures({}, {"feed": "unknown"}, code="not_known")
    assert lost[0].title.startswith("Follow the wire to where it is fed")


def test_no_other_feed_is_proposed_where_no_procedure_is_established():
    document = sheet(fuses=FUSES, ports={"unit": ({}, {"feed": "fuse:F21"})})
    document["procedure"] = {"verdict": "not_established"}
    findings = judge(parse_sheet(document)).of("UNIT")
    assert [cure.code for cure in findings[0].cures] == ["record"]


def test_pulling_a_fuse_puts_a_load_to_rest_and_says_what_dies_with_it():
    assist = {"id": "eps", "name": "steering assist", "feed": "fuse:F30", "needs": {"tow": "off"}}
    document = sheet(fuses=FUSES, loads=[assist], ports={"unit": ({}, {"feed": "fuse:F30"})})
    (finding,) = judge(parse_sheet(document)).of("load:eps")
    (cure,) = finding.cures
    assert cure.title == "Pull F30 for towing"
    assert cure.notes[0] == "Then also dead in tow: unit, supply, door locks."


def test_a_load_that_must_live_is_helped_by_parts_only():
    assist = {"id": "eps", "feed": "fuse:F33", "needs": {"tow": "on"}}
    charger = {"charger": {"name": "Charger", "cures": ["no_power"]}}
    document = sheet(fuses=FUSES, loads=[assist], kinds=charger)
    (finding,) = judge(parse_sheet(document)).findings
    assert [cure.title for cure in finding.cures] == ["Add: Charger"]


FEEDS = [f"fuse:F{n}{side}" for n in ("08", "21", "27", "33") for side in ("", "@supply")]


@settings(max_examples=150, deadline=None)
@given(
    feed=st.sampled_from([*FEEDS, "unknown", "battery"]),
    ground=st.sampled_from(["body", "battery_negative_post", "unknown"]),
    leg=st.sampled_from(["negative", "positive"]),
    isolated=st.booleans(),
    key=st.sampled_from(["acc", "off"]),
    demand=st.fixed_dictionaries(
        {s: st.sampled_from(["on", "off", "any"]) for s in ("drive", "tow", "breakaway")}
    ),
)
def test_every_connection_proposed_does_cure(feed, ground, leg, isolated, key, demand):
    """What is proposed is put on the sheet and judged again: the port must then be content."""
    steps = [step(1, "key", value=key), step(2, "fuse_out", target="F08")]
    if isolated:
        steps.append(step(3, "disconnect_open"))
    asked = {"demand": demand, "peak_a": 2}
    document = sheet(
        fuses=FUSES,
        steps=tuple(steps),
        ports={"unit": (asked, {"feed": feed, "ground": ground})},
        disconnect={"leg": leg},
    )
    for finding in judge(parse_sheet(document)).findings:
        for cure in finding.cures:
            if not cure.feed:
                continue
            connection = {"feed": cure.feed, "ground": cure.ground, "own_fuse_a": 5}
            document["fittings"][0]["ports"]["supply"] = connection
            again = judge(parse_sheet(document))
            assert not [f for f in again.of("UNIT") if f.blocking], cure
