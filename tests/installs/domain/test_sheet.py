"""The vehicle sheet: there and back, and every fault with its place at once."""

import copy
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from installs.domain.ports import Kind
from installs.domain.sheet import (
    SheetFaults,
    parse_sheet,
    sheet_faults,
    validate_kind,
    validate_ports,
)
from tests.factories.sheets import sheet, step

DOCUMENT = {
    **sheet(
        fuses=[{"id": "F08", "feed": "terminal:15R", "rating_a": 7.5}],
        outlets=[{"id": "dash", "feed": "fuse:F08"}],
        ports={"unit": ({"with_pedal": {"tow": "on"}}, {"feed": "outlet:dash"})},
        steps=(step(1, "key", value="acc"), step(5, "fuse_out", target="F08")),
    ),
    "range": {"make": "Alder", "year_from": 2018, "year_to": 2020},
    "earlier_procedures": [{"verdict": "not_established"}],
}
DOCUMENT["kinds"]["unit"]["about"] = {"life_years": 5}
DOCUMENT["fittings"][0] |= {"serial": "PB-20417", "mounted": "footwell", "about": {"x": [1]}}


def changed(*path, value):
    document = copy.deepcopy(DOCUMENT)
    at = document
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return document


def test_there_and_back():
    parsed = parse_sheet(DOCUMENT)
    written = json.loads(json.dumps(parsed.to_dict()))
    assert parse_sheet(written) == parsed
    assert parse_sheet(written).to_dict() == parsed.to_dict()
    assert written["kinds"]["unit"]["about"] == {"life_years": 5}
    assert written["fittings"][0]["mounted"] == "footwell"
    assert written["earlier_procedures"] == [{"verdict": "not_established"}]


@pytest.mark.parametrize(
    ("document", "place", "sentence"),
    [
        (changed("pullpin_sheet", value=2), "/pullpin_sheet", "2 must be 1."),
        (
            changed("colour", value="red"),
            "/colour",
            "“colour” is not a name this part of the sheet knows: pullpin_sheet, vehicle, range, "
            "feed_map, procedure, earlier_procedures, kinds, fittings, looks.",
        ),
        (
            changed("fittings", 0, "kind", value="winch"),
            "/fittings/0/kind",
            "“winch” is not among the sheet's kinds: unit.",
        ),
        (
            changed("fittings", 0, "ports", value={"coil": {"feed": "own", "ground": "own"}}),
            "/fittings/0/ports/coil",
            "unit has no port “coil”. It has: supply.",
        ),
        (
            changed("fittings", 0, "ports", "supply", "feed", value="outlet:rear"),
            "/fittings/0/ports/supply/feed",
            "“outlet:rear” is not on the feed map. It has these outlets: dash.",
        ),
        (
            changed("fittings", 0, "ports", "supply", "in_slot", value=True),
            "/fittings/0/ports/supply/in_slot",
            "Only a tap at a fuse can sit in the fuse's slot.",
        ),
        (
            changed("fittings", 0, "ports", "supply", "ground", value="own"),
            "/fittings/0/ports/supply/ground",
            "“own” is for both ends: a part's own battery is its own ground.",
        ),
        (
            changed("range", "year_to", value=2015),
            "/range/year_to",
            "The range ends in 2015, before it begins in 2018.",
        ),
        (
            changed("procedure", "steps", 1, "target", value="F12"),
            "/procedure/steps/1/target",
            "Step 5 pulls fuse F12, which is not on the feed map. Fuses there: F08.",
        ),
        (
            changed("earlier_procedures", value=[{"verdict": "allowed", "source": {}}]),
            "/earlier_procedures/0/steps",
            "Towing is allowed, but no step says how.",
        ),
        (
            changed("feed_map", "fuses", 0, "rating_a", value=True),
            "/feed_map/fuses/0/rating_a",
            "true must be a number or null.",
        ),
    ],
)
def test_one_fault_and_its_place(document, place, sentence):
    assert (place, sentence) in {(f.place, f.sentence) for f in sheet_faults(document)}
    with pytest.raises(SheetFaults):
        parse_sheet(document)


def test_every_fault_is_named_at_once():
    document = changed("feed_map", "fuses", 0, "feed", value="terminal:99")
    document["vehicle"]["colour"] = "red"
    document["fittings"].append({"id": "UNIT", "kind": "winch"})
    document["procedure"]["steps"][0]["value"] = "lock"
    document["kinds"]["unit"]["ports"].append({"name": "supply", "demand": {}})
    with pytest.raises(SheetFaults) as caught:
        parse_sheet(document)
    assert {fault.place for fault in caught.value.faults} == {
        "/vehicle/colour",
        "/feed_map/fuses/0/feed",
        "/procedure/steps/0/value",
        "/kinds/unit/ports/1/name",
        "/fittings/1/id",
        "/fittings/1/kind",
    }
    assert len(str(caught.value).splitlines()) == 6


def test_an_earlier_procedure_may_name_fuses_that_the_map_has_no_more():
    earlier = copy.deepcopy(DOCUMENT["procedure"])
    earlier["steps"][1]["target"] = "F99"
    assert sheet_faults(changed("earlier_procedures", value=[earlier])) == []


def test_fittings_without_any_kinds():
    document = copy.deepcopy(DOCUMENT)
    del document["kinds"]
    assert [f.place for f in sheet_faults(document)] == ["/fittings/0/kind"]


def test_ports_and_kinds_are_checked_by_themselves():
    kind = Kind.from_dict(DOCUMENT["kinds"]["unit"], code="unit")
    feeds = parse_sheet(DOCUMENT).feed_map
    assert validate_ports({"supply": {"feed": "battery", "ground": "body"}}, kind, feeds) == []
    (fault,) = validate_ports({"supply": {"feed": "fuse:F9", "ground": "body"}}, kind, feeds)
    assert fault.place == "/supply/feed"
    (fault,) = validate_ports({"supply": {"feed": "battery"}}, kind, feeds)
    assert fault.sentence == "“ground” is missing."
    assert validate_kind(DOCUMENT["kinds"]["unit"]) == []
    (fault,) = validate_kind({"name": "x", "cures": ["magic"]})
    assert fault.place == "/cures/0"


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)
PLACES = [
    ("vehicle",),
    ("feed_map",),
    ("feed_map", "fuses"),
    ("feed_map", "fuses", 0),
    ("feed_map", "fuses", 0, "feed"),
    ("feed_map", "outlets", 0, "id"),
    ("procedure",),
    ("procedure", "steps"),
    ("procedure", "steps", 0),
    ("procedure", "steps", 0, "value"),
    ("procedure", "source"),
    ("kinds",),
    ("kinds", "unit"),
    ("kinds", "unit", "ports"),
    ("fittings",),
    ("fittings", 0, "ports"),
    ("fittings", 0, "ports", "supply", "feed"),
]


@settings(max_examples=300, deadline=None)
@given(place=st.sampled_from(PLACES), value=ANYTHING)
def test_whatever_stands_in_a_place_gets_a_sheet_or_its_faults_and_never_a_crash(place, value):
    document = changed(*place, value=value)
    faults = sheet_faults(document)
    assert all(fault.sentence.endswith(".") for fault in faults)
    if not faults:
        parsed = parse_sheet(document)
        assert parse_sheet(parsed.to_dict()) == parsed
