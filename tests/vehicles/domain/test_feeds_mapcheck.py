"""Every fault of a feed map or procedure, with its place."""

import pytest

from tests.factories.sheets import feed_map, procedure, step
from vehicles.domain.feedmap import FeedMap, point_words
from vehicles.domain.mapcheck import validate_feed_map, validate_procedure

FUSES = [{"id": "F08", "feed": "terminal:15R"}, {"id": "F21", "feed": "terminal:30"}]


def faults(**parts):
    return {(f.place, f.sentence) for f in validate_feed_map(feed_map(**parts))}


def places(found):
    return [fault.place for fault in found]


def test_a_whole_map_goes_there_and_back():
    data = feed_map(
        fuses=[{"id": "F08", "feed": ["terminal:15R", "terminal:30"], "behind": ["radio"]}],
        relays=[{"id": "R1", "coil": "fuse:F08", "feed": "battery", "contact": "changeover"}],
        switches=[{"id": "S1", "feed": "body", "closed_when": "pedal"}],
        outlets=[{"id": "dash", "feed": "fuse:F08", "conditions": ["something draws"]}],
        loads=[{"id": "eps", "feed": "relay:R1@rest", "ground": "switch:S1"}],
        disconnect={"leg": "negative"},
        charge_line={"lands": "load_side", "ground": "body"},
        electric_parking_brake=False,
    )
    assert validate_feed_map(data) == []
    feeds = FeedMap.from_dict(data)
    assert FeedMap.from_dict(feeds.to_dict()) == feeds
    assert validate_feed_map(feeds.to_dict()) == []


@pytest.mark.parametrize(
    ("parts", "place", "sentence"),
    [
        (
            {"fuses": [{"id": "F1", "feed": "terminal:50"}]},
            "/fuses/0/feed",
            "“terminal:50” is not on the feed map. It has these terminals: 30, 15R, 15.",
        ),
        (
            {"fuses": [{"id": "F1", "feed": ["terminal:30", "fuse:F9"]}]},
            "/fuses/0/feed/1",
            "“fuse:F9” is not on the feed map. It has these fuses: F1.",
        ),
        (
            {"fuses": [*FUSES, {"id": "F08", "feed": "battery"}]},
            "/fuses/2/id",
            "“F08” is already used at position 0.",
        ),
        (
            {"fuses": [{"id": "F1", "feed": "own"}]},
            "/fuses/0/feed",
            "“own” is the battery of a fitted part; nothing in the car is fed from it.",
        ),
        (
            {"fuses": [{"id": "F1", "feed": "coach"}]},
            "/fuses/0/feed",
            "The map records no charge line from the coach (“charge_line”).",
        ),
        (
            {"terminals": [{"id": "31"}]},
            "/terminals/0",
            "Terminal 31 is a ground return and feeds nothing.",
        ),
        (
            {"terminals": [{"id": "IG2"}]},
            "/terminals/0",
            "Terminal IG2 is not a number of DIN 72552 that says when it is live: give “live_in”.",
        ),
        (
            {"relays": [{"id": "R1", "coil": "relay:R1@rest", "feed": "battery"}]},
            "/relays/0/coil",
            "“relay:R1@rest”: this relay has only one output, “relay:R1”.",
        ),
        (
            {"loads": [{"id": "L", "feed": "battery", "ground": "switch:S1"}]},
            "/loads/0/ground",
            "“switch:S1” is not on the feed map.",
        ),
    ],
)
def test_what_only_the_whole_map_can_tell(parts, place, sentence):
    assert (place, sentence) in faults(**parts)


def test_a_switch_that_does_not_switch_a_ground_is_no_ground():
    found = faults(
        switches=[{"id": "S1", "feed": "battery", "closed_when": "always"}],
        loads=[{"id": "L", "feed": "battery", "ground": "switch:S1"}],
    )
    assert found == {
        ("/loads/0/ground", "“switch:S1” does not switch a ground: its feed is battery.")
    }


def test_feeds_in_a_circle_are_named_and_latching_relays_are_not():
    circle = [{"id": "A", "feed": "fuse:B"}, {"id": "B", "feed": "fuse:A"}]
    (found,) = faults(fuses=circle)
    assert found[1].startswith("These feed each other in a circle and have no source: ")
    latch = [{"id": "R1", "coil": "relay:R1", "feed": "battery"}]
    assert faults(relays=latch) == set()


def test_every_fault_of_shape_is_named_at_once():
    found = validate_feed_map(
        {
            "fuses": [
                {"id": "F:1", "feed": 3, "rating_a": -1, "blades": "mini"},
                {"rating_a": "ten"},
            ],
            "disconnect": {"leg": "left"},
        }
    )
    assert places(found) == [
        "/disconnect/leg",
        "/fuses/0/blades",
        "/fuses/0/feed",
        "/fuses/0/id",
        "/fuses/0/rating_a",
        "/fuses/1",
        "/fuses/1",
        "/fuses/1/rating_a",
    ]
    assert found[0].sentence == '"left" is not one of: positive, negative, none.'
    assert found[2].sentence == "This must be a text or a list."


@pytest.mark.parametrize("data", [None, [], "map", 3, True])
def test_something_that_is_no_map_at_all(data):
    (fault,) = validate_feed_map(data)
    assert fault.sentence.endswith("must be a group of named values.")


MAP = FeedMap.from_dict(feed_map(fuses=FUSES))


def test_a_step_that_pulls_a_fuse_the_map_lacks_gets_the_list_of_fuses():
    (fault,) = validate_procedure(procedure(step(4, "fuse_out", target="F12")), MAP)
    assert str(fault) == (
        "/steps/0/target: Step 4 pulls fuse F12, which is not on the feed map. "
        "Fuses there: F08, F21."
    )


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        (step(1, "key", value="lock"), "/steps/0/value"),
        (step(1, "key"), "/steps/0/value"),
        (step(1, "wait", value="long"), "/steps/0/value"),
        (step(1, "engine_run"), "/steps/0/value"),
        (step(1, "gear"), "/steps/0/value"),
        (step(1, "parking_brake", value="off"), "/steps/0/value"),
        (step(1, "disconnect_open", value="left"), "/steps/0/value"),
        ({"no": 1, "action": "fuse_out"}, "/steps/0/target"),
        (step(1, "other"), "/steps/0/text"),
        (step(1, "key", value="off", after=[9]), "/steps/0/after"),
        (step(1, "key", value="off", after=[1]), "/steps/0/after"),
        (step(1, "gear", value="N", needs_live="fuse:F99"), "/steps/0/needs_live"),
    ],
)
def test_a_step_that_does_not_say_what_it_must(wrong, place):
    assert places(validate_procedure(procedure(wrong), MAP)) == [place]


def test_a_step_number_used_twice_and_a_day_that_does_not_exist():
    data = procedure(step(1, "key", value="off"), step(1, "gear", value="N"))
    data["source"]["read_on"] = "2026-02-30"
    assert places(validate_procedure(data, MAP)) == ["/steps/1/no", "/source/read_on"]


def test_an_allowed_procedure_needs_steps_and_a_kind_of_source():
    found = validate_procedure({"verdict": "allowed"}, None)
    assert places(found) == ["/steps", "/source"]
    assert validate_procedure({"verdict": "not_established"}, None) == []


def test_points_in_words():
    assert [point_words(p) for p in ("fuse:F21@supply", "fuse:F21", "terminal:30", "bus")] == [
        "F21's supply side",
        "F21's load side",
        "terminal 30",
        "terminal 30",
    ]
    assert point_words("relay:R1@rest") == "relay R1 at rest (87a)"
