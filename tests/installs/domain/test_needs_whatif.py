"""What if: a fuse, the key, the disconnect or the charge line toggled in the tow state."""

import pytest

from installs.domain.sheet import parse_sheet
from installs.domain.whatif import what_if
from tests.factories.sheets import sheet, step

SHEET = parse_sheet(
    sheet(
        fuses=[
            {"id": "F08", "feed": "terminal:15R", "rating_a": 20},
            {"id": "F21", "feed": "terminal:30", "rating_a": 15},
        ],
        loads=[{"id": "radio", "feed": "fuse:F08", "needs": {"tow": "any"}}],
        ports={
            "unit": ({}, {"feed": "fuse:F08"}),
            "transmitter": ({}, {"feed": "fuse:F21"}),
        },
        steps=(step(1, "key", value="acc"), step(5, "fuse_out", target="F08")),
        disconnect={"leg": "negative"},
        charge_line={"lands": "load_side", "ground": "body"},
    )
)


def told(**changes):
    return list(what_if(SHEET, changes).differences)


def test_nothing_changed_tells_nothing():
    assert told() == []


def test_a_pulled_fuse_put_back():
    assert told(fuses=["F08"])[0] == (
        "unit, supply: ON in tow instead of OFF (F08 (20 A) is in). It would get what it needs."
    )
    assert any(line.startswith("radio: ON in tow") for line in told(fuses=["F08"]))


def test_one_more_fuse_pulled():
    found = told(fuses=["F21"])
    assert found[0] == (
        "transmitter, supply: OFF in tow instead of ON (F21 is out). "
        "It would no longer get what it needs."
    )


def test_the_key_turned():
    """With the key off the outlet stays dead although its fuse is back."""
    assert told(key="off", fuses=["F08"]) == []
    assert told(key="on", fuses=["F08"])[0].startswith("unit, supply: ON in tow")


def transmitter(**changes):
    """What is told of the transmitter in tow."""
    return [line for line in told(**changes) if "transmitter" in line and " in tow " in line]


def test_the_disconnect_opened_and_the_charge_line_plugged():
    """The procedure does not say whether the line is plugged, so opened alone it is unknown."""
    assert "UNKNOWN in tow instead of ON" in transmitter(disconnect=True)[0]
    assert "OFF in tow instead of ON" in transmitter(disconnect=True, charge=False)[0]
    assert transmitter(disconnect=True, charge=True) == []


def test_the_new_judgement_comes_along():
    judgement = what_if(SHEET, {"fuses": ["F08", "F21"]}).judgement
    assert judgement.views.states["tow"].fuses_out == {"F21": 0}
    assert judgement.port("TRANSMITTER", "supply").answers["tow"].value == "OFF"


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"fuses": ["F99"]}, "Fuse F99 is not on the feed map. Fuses there: F08, F21."),
        ({"key": "lock"}, "lock is no key position: off, acc, on, start."),
    ],
)
def test_what_does_not_exist_is_refused(changes, sentence):
    with pytest.raises(ValueError, match=sentence):
        what_if(SHEET, changes)
