"""A proof does not outlive what blocks it, nor the fitting it was measured at."""

import copy
import json

import pytest

from installs.domain.basis import basis_of, differences, fingerprint
from installs.domain.needs import judge
from installs.domain.sheet import Sheet
from tests.factories.sheets import sheet, step

DOCUMENT = sheet(
    fuses=[
        {"id": "F08", "feed": "terminal:15R", "rating_a": 7.5},
        {"id": "F12", "feed": "terminal:30", "rating_a": 10},
    ],
    steps=(step(1, "key", value="acc"), step(5, "fuse_out", target="F08")),
    ports={
        "transmitter": ({"peak_a": 1}, {"feed": "fuse:F12", "own_fuse_a": 5}),
        "brake_unit": ({}, {"feed": "fuse:F12"}),
    },
    charge_line={"lands": "load_side", "ground": "body", "rating_a": 10},
) | {"range": {"year_from": 2010, "year_to": 2021}}


def basis(change=lambda document: None):
    document = copy.deepcopy(DOCUMENT)
    change(document)
    # Records can hold what a sheet is refused for, such as a step that names a lost fuse.
    read = Sheet.from_dict(document)
    # As it comes back from a JSON column.
    return json.loads(json.dumps(basis_of(read, judge(read))))


def steps_of(document):
    return document["procedure"]["steps"]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            lambda d: steps_of(d)[1].pop("reverse"),
            ["Step 5: fuse F08 is pulled, but no reverse step puts it back."],
        ),
        (
            lambda d: d["range"].update(year_from=2020),
            ["This feed map and procedure were recorded for other vehicles."],
        ),
        (
            lambda d: d["vehicle"].pop("year"),
            ["Nobody confirmed that this procedure is for this vehicle."],
        ),
        (
            lambda d: d["feed_map"]["charge_line"].update(rating_a=2),
            ["The coach's charge line: now 2 A; before: 10 A."],
        ),
        (
            lambda d: d["feed_map"]["charge_line"].pop("rating_a"),
            ["The coach's charge line: now not recorded; before: 10 A."],
        ),
        (
            lambda d: d["feed_map"]["charge_line"].update(rating_a=2, ground="none"),
            [
                "The coach's charge line: now 2 A; before: 10 A.",
                "The coach's charge line lands, returns or is switched differently.",
            ],
        ),
        (
            lambda d: d["feed_map"]["fuses"][0].update(id="8"),
            [
                "Step 5 pulls F08, which is not on the feed map: "
                "nobody knows what goes dead with it."
            ],
        ),
        (
            lambda d: d["feed_map"].update(
                loads=[{"id": "lamp", "feed": "fuse:F12", "peak_a": 12, "needs": {"tow": "any"}}]
            ),
            ["F12: 13 A at the peak on 10 A (transmitter, supply)."],
        ),
    ],
)
def test_a_proof_goes_stale_where_something_new_blocks_or_a_rating_changes(change, told):
    assert "blocking" not in basis()
    assert fingerprint(basis(change)) != fingerprint(basis())
    assert differences(basis(), basis(change)) == told


def test_what_no_longer_blocks_is_told_too():
    told = differences(basis(lambda d: steps_of(d)[1].pop("reverse")), basis())
    assert told == [
        "No longer in the way: Step 5: fuse F08 is pulled, but no reverse step puts it back."
    ]


def test_a_dead_port_is_told_by_its_answer_and_not_twice():
    told = differences(basis(), basis(lambda d: d["feed_map"]["fuses"][1].update(feed="battery")))
    assert told == ["F12: now fed from the battery's positive post; before: terminal 30."]
    dead = basis(lambda d: d["feed_map"]["fuses"][1].update(feed="terminal:15"))
    assert ["no_power", "TRANSMITTER", "supply"] in dead["blocking"]
    assert differences(basis(), dead) == [
        "F12: now fed from terminal 15; before: terminal 30.",
        "transmitter, supply: now OFF in tow; before: ON.",
        "brake unit, supply: now OFF in tow; before: ON.",
    ]


def test_what_a_finding_is_called_does_not_matter():
    def blocked(number):
        def change(document):
            steps_of(document)[1].pop("reverse")
            steps_of(document)[1]["no"] = number

        return change

    assert fingerprint(basis(blocked(5))) == fingerprint(basis(blocked(6)))


def fitted_as(*marks, **more):
    """Each part's fitting with the mark that the records put in; None puts none in."""

    def change(document):
        for fitting, mark in zip(document["fittings"], marks, strict=True):
            if mark is not None:
                fitting["about"] = {"fitting": mark, **more}

    return change


def test_a_part_taken_off_and_fitted_again_does_not_bring_the_old_proof_back():
    before, after = basis(fitted_as(4, 5)), basis(fitted_as(4, 9))
    assert fingerprint(before) != fingerprint(after)
    assert differences(before, after) == ["brake unit was taken off and fitted again."]


def test_a_part_whose_fitting_is_not_on_record_is_bound_by_its_connection():
    """As in a sheet that comes from elsewhere, and in proofs signed before it was kept."""
    loose = basis(fitted_as(4, None))
    assert "fitting" not in loose["ports"]["BRAKE_UNIT.supply"]
    assert differences(basis(fitted_as(4, 5)), loose) == [
        "brake unit: it is no longer on record which fitting of it is measured."
    ]
    assert differences(loose, basis(fitted_as(4, 5))) == [
        "brake unit: it is now on record which fitting of it is measured."
    ]


def test_nothing_else_that_rides_along_with_a_fitting_matters():
    change = fitted_as(4, 5, bay="2")
    assert fingerprint(basis(change)) == fingerprint(basis(fitted_as(4, 5)))


def test_a_proof_signed_before_findings_were_kept_is_still_compared():
    signed = basis()
    signed["said"].pop("findings")
    blocked = basis(lambda d: steps_of(d)[1].pop("reverse"))
    assert fingerprint(signed) == fingerprint(basis())
    assert differences(signed, blocked) == [
        "Step 5: fuse F08 is pulled, but no reverse step puts it back."
    ]
