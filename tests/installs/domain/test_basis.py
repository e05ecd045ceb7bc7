"""The basis of a proof: what changes its fingerprint and what does not, told in words."""

import copy
import json

import pytest

from installs.domain.basis import basis_of, differences, fingerprint
from installs.domain.needs import judge
from installs.domain.sheet import parse_sheet
from tests.factories.sheets import sheet, step

DOCUMENT = sheet(
    fuses=[
        {"id": "F08", "feed": "terminal:15R", "rating_a": 7.5, "box": "dash", "row": 1, "col": 8},
        {"id": "F12", "feed": "terminal:30", "rating_a": 10},
        {"id": "F21", "feed": "terminal:30", "rating_a": 15},
        {"id": "F40", "feed": "terminal:30", "rating_a": 20},
    ],
    relays=[{"id": "R1", "coil": "terminal:15R", "feed": "fuse:F21"}],
    loads=[
        {"id": "eps", "name": "steering assist", "feed": "relay:R1", "needs": {"tow": "on"}},
        {"id": "radio", "feed": "fuse:F40", "needs": {"tow": "any"}},
    ],
    steps=(
        step(1, "key", value="acc"),
        step(2, "gear", value="N"),
        step(3, "engine_run", value=3),
        step(5, "fuse_out", target="F08"),
    ),
    ports={
        "transmitter": ({"peak_a": 1}, {"feed": "fuse:F12", "own_fuse_a": 5}),
        "unit": ({"min_supply_a": 15, "peak_a": 10}, {"feed": "fuse:F21"}),
    },
)


def basis(change=lambda document: None):
    document = copy.deepcopy(DOCUMENT)
    change(document)
    parsed = parse_sheet(document)
    # As it comes back from a JSON column.
    return json.loads(json.dumps(basis_of(parsed, judge(parsed))))


def setter(*path, value):
    def change(document):
        at = document
        for key in path[:-1]:
            at = at[key]
        at[path[-1]] = value

    return change


def adder(*path, value):
    def change(document):
        at = document
        for key in path:
            at = at[key]
        at.append(value)

    return change


TRANSMITTER = ("fittings", 0, "ports", "supply")


@pytest.mark.parametrize(
    "change",
    [
        setter("vehicle", "name", value="another name"),
        setter("procedure", "source", "edition", value="2"),
        setter("procedure", "source", "kind", value="bulletin"),
        setter("procedure", "note", value="seen on paper"),
        setter("procedure", "steps", 1, "text", value="Selector to N, slowly"),
        setter("procedure", "steps", 3, "no", value=9),
        setter("feed_map", "fuses", 0, "row", value=3),
        setter("feed_map", "fuses", 1, "behind", value=["clock"]),
        setter("feed_map", "fuses", 1, "rating_a", value=10.0),
        setter("feed_map", "fuses", 1, "known", value="measured"),
        setter("feed_map", "loads", 0, "name", value="assist"),
        setter("feed_map", "loads", 1, "feed", value="fuse:F21"),
        setter("kinds", "unit", "ports", 0, "consequence", value="no braking"),
        setter("kinds", "unit", "name", value="brake unit"),
        setter("fittings", 0, "serial", value="T-1"),
        setter("fittings", 0, "ports", "supply", "known", value="measured"),
        setter("earlier_procedures", value=[{"verdict": "not_established"}]),
        adder("feed_map", "fuses", value={"id": "F99", "feed": "terminal:15", "rating_a": 5}),
    ],
)
def test_what_does_not_matter_leaves_the_fingerprint_alone(change):
    changed = basis(change)
    assert fingerprint(changed) == fingerprint(basis())
    assert differences(basis(), changed) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            adder("procedure", "steps", value=step(6, "fuse_out", target="F12")),
            "F12 is now pulled (step 6). Fed through it: transmitter, supply.",
        ),
        (
            adder("procedure", "steps", value=step(6, "fuse_out", target="F40")),
            "F40 is now pulled (step 6).",
        ),
        (
            lambda d: d["procedure"]["steps"].pop(),
            "F08 is no longer pulled (it was step 5).",
        ),
        (
            setter(*TRANSMITTER, "feed", value="fuse:F21"),
            "transmitter, supply: now fed from F21's load side; before: F12's load side.",
        ),
        (
            setter(*TRANSMITTER, "feed", value="fuse:F12@supply"),
            "transmitter, supply: now fed from F12's supply side; before: F12's load side.",
        ),
        (
            setter(*TRANSMITTER, "ground", value="battery_negative_post"),
            "transmitter, supply: now returns to the battery's negative post; before: to the body.",
        ),
        (
            setter(*TRANSMITTER, "own_fuse_a", value=3),
            "transmitter, supply: its own fuse is now 3 A; before: 5 A.",
        ),
        (
            setter(*TRANSMITTER, "in_slot", value=True),
            "transmitter, supply: its tap sits in the fuse's slot.",
        ),
        (
            setter(*TRANSMITTER, "known", value="assumed"),
            "transmitter, supply: where it is connected is now only assumed.",
        ),
        (
            setter("procedure", "steps", 0, "value", value="removed"),
            "Step 1 is new: take the key out; before: turn the key to ACC.",
        ),
        (
            setter("procedure", "steps", 2, "value", value=5),
            "Step 3 is new: run the engine for 5 minutes.",
        ),
        (
            lambda d: d["procedure"]["steps"].pop(1),
            "No longer done: put the selector in N.",
        ),
        (
            lambda d: (
                d["procedure"]["steps"][0].update(no=2),
                d["procedure"]["steps"][1].update(no=1),
            ),
            "The steps are done in another order.",
        ),
        (
            setter("procedure", "limits", value={"max_speed_mph": 65}),
            "Top speed: now 65 mph; before: not stated.",
        ),
        (
            setter("procedure", "limits", value={"daily_repeat": True}),
            "It must now be repeated every day.",
        ),
        (
            setter("procedure", "limits", value={"direction": "forward only"}),
            "Direction: now forward only; before: not stated.",
        ),
        (
            setter("procedure", "verdict", value="not_allowed"),
            "Towing is now not allowed; before: allowed.",
        ),
        (
            setter("procedure", "source", "kind", value="verbal"),
            "The procedure no longer has a document.",
        ),
        (
            setter("feed_map", "fuses", 1, "rating_a", value=15),
            "F12: now 15 A; before: 10 A.",
        ),
        (
            setter("feed_map", "fuses", 1, "feed", value="terminal:15"),
            "F12: now fed from terminal 15; before: terminal 30.",
        ),
        (
            setter("feed_map", "relays", 0, "coil", value="terminal:15"),
            "relay R1 is recorded differently: coil.",
        ),
        (
            setter("feed_map", "disconnect", value={"leg": "negative"}),
            "Battery disconnect: now in the negative leg; before: none.",
        ),
        (
            setter("feed_map", "charge_line", value={"lands": "load_side", "ground": "body"}),
            "A charge line from the coach is now on record.",
        ),
        (
            setter("feed_map", "electric_parking_brake", value=True),
            "The car has an electric parking brake.",
        ),
        (
            setter("feed_map", "loads", 0, "needs", value={"tow": "off"}),
            "steering assist: in tow it must now be OFF; before: ON.",
        ),
        (
            setter("kinds", "unit", "ports", 0, "demand", value={"tow": "on", "drive": "off"}),
            "unit, supply: when driving it must now be OFF; before: either.",
        ),
        (
            setter("kinds", "unit", "ports", 0, "peak_a", value=12),
            "unit, supply: the current it needs is recorded differently.",
        ),
        (lambda d: d["fittings"].pop(), "unit, supply is no longer there."),
    ],
)
def test_what_matters_changes_the_fingerprint_and_is_told(change, told):
    before, after = basis(), basis(change)
    assert fingerprint(after) != fingerprint(before)
    assert told in differences(before, after)


def test_a_part_that_moved_here_is_told_as_new():
    assert "unit, supply is new." in differences(basis(lambda d: d["fittings"].pop()), basis())


def test_answers_that_changed_are_told_last():
    told = differences(basis(), basis(setter("feed_map", "fuses", 1, "feed", value="terminal:15")))
    assert told[-1] == "transmitter, supply: now OFF in tow; before: ON."


def test_a_change_undone_gives_the_old_fingerprint_back():
    pulled = adder("procedure", "steps", value=step(6, "fuse_out", target="F12"))
    assert fingerprint(basis(pulled)) != fingerprint(basis())
    assert fingerprint(basis()) == fingerprint(basis())
    assert len(fingerprint(basis())) == 64


def test_a_revised_bulletin_says_what_it_turned_round():
    """One fuse is no longer pulled, another is, and the assist must stay alive."""

    def revised(document):
        document["procedure"]["steps"][3].update(target="F40", reverse="Put F40 back")
        document["feed_map"]["loads"][0]["needs"] = {"tow": "off"}

    told = differences(basis(), basis(revised))
    assert told[:2] == ["F40 is now pulled (step 5).", "F08 is no longer pulled (it was step 5)."]
    assert "steering assist: in tow it must now be OFF; before: ON." in told


def test_a_vehicle_without_fittings_keeps_what_its_procedure_binds():
    parsed = parse_sheet(DOCUMENT).without_fittings()
    bare = basis_of(parsed, judge(parsed))
    assert bare["ports"] == {}
    assert len(bare["procedure"]["steps"]) == 4
