"""Relays: coils judged as circuits, contacts at rest, and loops that hold themselves."""

import pytest

from tests.factories.sheets import feed_map, paths
from vehicles.domain.answers import Value
from vehicles.domain.state import State

FUSES = [{"id": "F21", "feed": "terminal:30"}, {"id": "F12", "feed": "terminal:15"}]


def walk(*relays, key="off", switches=(), **state):
    car = feed_map(fuses=FUSES, relays=list(relays), switches=list(switches))
    return paths(car, State("tow", key=key, charge_connected=False, **state))


def relay(id_="R1", **parts):
    return {"id": id_, "coil": "fuse:F12", "feed": "fuse:F21", **parts}


@pytest.mark.parametrize(
    ("contact", "key", "value"),
    [
        ("normally_open", "on", "ON"),
        ("normally_open", "off", "OFF"),
        ("normally_closed", "on", "OFF"),
        ("normally_closed", "off", "ON"),
    ],
)
def test_the_coil_decides_though_the_contact_is_fed(contact, key, value):
    assert walk(relay(contact=contact), key=key).point("relay:R1").value == value


def test_a_changeover_relay_has_two_outputs():
    walked = walk(relay(contact="changeover"), key="on")
    assert walked.point("relay:R1").value == "ON"
    assert walked.point("relay:R1@rest").value == "OFF"


def test_the_reason_goes_through_the_coil():
    walked = walk(relay(), key="on", fuses_out={"F12": 4})
    assert walked.point("relay:R1").why == "relay R1: coil at rest because F12 is out (step 4)"


def test_a_coil_needs_its_ground_too():
    by_pedal = [{"id": "S1", "feed": "body", "closed_when": "pedal"}]
    grounded = relay(coil_ground="switch:S1")
    assert walk(grounded, key="on", switches=by_pedal).point("relay:R1").value == "OFF"
    pressed = walk(grounded, key="on", switches=by_pedal, pedal=True)
    assert pressed.point("relay:R1").value == "ON"
    assert walk(relay(coil_ground="unknown"), key="on").point("relay:R1").value == "UNKNOWN"


def test_a_relay_nobody_measured_is_unknown():
    for key in ("on", "off"):
        walked = walk(relay(known="assumed"), key=key)
        assert walked.point("relay:R1").value == "UNKNOWN"
        assert walked.coil("R1").value is Value.UNKNOWN


def test_a_coil_on_a_map_without_that_relay_is_unknown():
    assert walk().coil("R9").value is Value.UNKNOWN


def test_a_relay_that_holds_itself_is_conditional():
    held = relay(coil=["fuse:F12", "relay:R1"])
    answer = walk(held, key="off").point("relay:R1")
    assert answer.value == "CONDITIONAL"
    assert "stays on once it is on: loop through R1" in answer.why


def test_a_self_holding_relay_that_is_fed_anyway_is_plainly_on():
    assert walk(relay(coil=["fuse:F12", "relay:R1"]), key="on").point("relay:R1").value == "ON"


def test_a_self_holding_relay_drops_when_its_contact_feed_is_gone():
    held = relay(coil=["fuse:F12", "relay:R1"])
    assert walk(held, key="off", fuses_out={"F21": 2}).point("relay:R1").value == "OFF"


def test_two_relays_that_hold_each_other_are_conditional():
    walked = walk(relay("R1", coil="relay:R2"), relay("R2", coil="relay:R1"))
    assert walked.point("relay:R1").value == "CONDITIONAL"
    assert walked.point("relay:R2").value == "CONDITIONAL"


def test_a_relay_that_switches_itself_off_never_settles():
    buzzer = relay(coil="relay:R1", contact="normally_closed")
    answer = walk(buzzer).point("relay:R1")
    assert answer.value == "UNKNOWN"
    assert "switches itself on and off" in answer.why


def test_a_relay_that_lights_the_lamps_which_hold_its_coil_is_a_latch():
    """Pedal back at rest, and the lamp wire still feeds the coil that feeds the lamp wire."""
    switches = [
        {"id": "stop", "feed": "fuse:F21", "closed_when": "pedal"},
        {"id": "lamps", "feed": ["switch:stop", "relay:R1"], "closed_when": "always"},
    ]
    brake = relay(coil="switch:lamps")
    assert walk(brake, switches=switches, pedal=True).point("switch:lamps").value == "ON"
    released = walk(brake, switches=switches, pedal=False).point("switch:lamps")
    assert released.value == "CONDITIONAL"
    assert "loop through R1" in released.why


def test_an_unknown_start_of_a_loop_stays_unknown():
    held = relay(coil=["unknown", "relay:R1"])
    assert walk(held).point("relay:R1").value == "UNKNOWN"
