"""A procedure folded to a state, the order of its steps, and the range it is for."""

import pytest

from tests.factories.sheets import feed_map, procedure, step
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.fit import range_fit
from vehicles.domain.order import order_faults
from vehicles.domain.procedure import Procedure, states_of, tow_state


def parsed(*steps, **parts):
    return Procedure.from_dict(procedure(*steps, **parts))


def test_the_steps_fold_to_the_tow_state():
    state = tow_state(
        parsed(
            step(1, "key", value="on"),
            step(2, "gear", value="N"),
            step(3, "key", value="removed"),
            step(4, "fuse_out", target="F08"),
            step(5, "disconnect_open"),
            step(6, "charge_connect"),
            step(7, "lamp_switch", value="off"),
        )
    )
    assert (state.key, state.key_removed) == ("off", True)
    assert state.fuses_out == {"F08": 4}
    assert state.disconnect_open
    assert state.charge_connected is True
    assert state.lamp_switch == "off"
    assert state.because == {"key": 3, "disconnect": 5, "charge": 6, "lamp_switch": 7}


def test_steps_are_done_in_the_order_of_their_numbers():
    state = tow_state(parsed(step(5, "key", value="off"), step(2, "key", value="acc")))
    assert state.key == "off"


def test_what_a_procedure_does_not_say_stays_unknown():
    state = tow_state(parsed(step(1, "fuse_out", target="F08")))
    assert state.key is None
    assert state.charge_connected is None
    assert state.lamp_switch is None
    assert tow_state(parsed(step(1, "key", value="unknown"))).key is None


def test_two_cars_with_opposite_key_rules_stay_apart():
    """One maker has the key out, another in ACC: neither is a default of the other."""
    out = tow_state(parsed(step(1, "key", value="removed")))
    acc = tow_state(parsed(step(1, "key", value="acc")))
    assert (out.key, acc.key) == ("off", "acc")


def test_drive_and_breakaway():
    states = states_of(parsed(step(1, "key", value="acc"), step(2, "charge_connect")))
    assert states["drive"].key == "on"
    assert not states["drive"].fuses_out
    assert states["breakaway"].pin_pulled
    assert states["breakaway"].charge_connected is False
    assert states["breakaway"].key == "acc"


@pytest.mark.parametrize("verdict", ["not_allowed", "not_established"])
def test_without_permission_there_is_no_tow_state(verdict):
    assert tow_state(Procedure(verdict)).unsettled


@pytest.mark.parametrize(
    ("kind", "printable"),
    [
        ("document", True),
        ("bulletin", True),
        ("measured", True),
        ("verbal", False),
        ("customer_says", False),
        ("", False),
    ],
)
def test_hearsay_is_never_printed_as_a_card(kind, printable):
    source = {"kind": kind} if kind else {}
    assert parsed(source=source).may_be_printed is printable


def test_reverse_steps_run_backwards():
    steps = (
        step(1, "key", value="acc", reverse="Key to OFF"),
        step(2, "gear", value="N"),
        step(3, "fuse_out", target="F08"),
    )
    assert parsed(*steps).reverse_steps() == ((3, "Put F08 back"), (1, "Key to OFF"))


EPB = FeedMap.from_dict(
    feed_map(
        fuses=[{"id": "F08", "feed": "terminal:15R"}],
        disconnect={"leg": "negative"},
        electric_parking_brake=True,
    )
)


def test_isolating_the_battery_before_the_electric_parking_brake_is_released():
    wrong = parsed(step(1, "disconnect_open"), step(2, "parking_brake", value="release"))
    (fault,) = order_faults(wrong, EPB)
    assert fault.step == 2
    assert "the battery is disconnected in the negative leg (step 1)" in fault.sentence
    assert fault.proposal == "Move step 2 ahead of step 1."


def test_releasing_it_first_is_in_order():
    right = parsed(step(1, "parking_brake", value="release"), step(2, "disconnect_open"))
    assert order_faults(right, EPB) == []


def test_a_parking_brake_on_a_cable_needs_no_battery():
    plain = FeedMap.from_dict(feed_map(disconnect={"leg": "negative"}))
    steps = (step(1, "disconnect_open"), step(2, "parking_brake", value="release"))
    assert order_faults(parsed(*steps), plain) == []


def test_a_step_that_needs_a_point_which_is_dead_by_then():
    wrong = parsed(
        step(1, "key", value="acc"),
        step(2, "fuse_out", target="F08"),
        step(3, "gear", value="N", needs_live="fuse:F08"),
    )
    (fault,) = order_faults(wrong, EPB)
    assert fault.sentence == "fuse:F08 is needed and dead by then: F08 is out (step 2)."
    assert fault.proposal == "Move step 3 ahead of step 2."


def test_a_step_that_must_come_after_another():
    wrong = parsed(step(1, "fuse_out", target="F08", after=[2]), step(2, "gear", value="N"))
    (fault,) = order_faults(wrong, EPB)
    assert fault.sentence == "it must come after step 2."


def test_a_pulled_fuse_without_its_reverse_step():
    wrong = parsed(step(1, "fuse_out", target="F08", reverse=""))
    (fault,) = order_faults(wrong, EPB)
    assert "no reverse step puts it back" in fault.sentence


@pytest.mark.parametrize(
    ("year", "outside", "missing"),
    [(2010, 0, 0), (2014, 0, 0), (2015, 1, 0), (2009, 1, 0), (None, 0, 1)],
)
def test_both_years_of_a_range_belong_to_it_and_a_blank_year_is_asked(year, outside, missing):
    found = range_fit({"year_from": 2010, "year_to": 2014}, {"year": year})
    assert (len(found[0]), len(found[1])) == (outside, missing)


def test_gearbox_and_drive_left_blank_are_asked_for():
    span = {"gearbox": "automatic", "drive": "four", "engine": ""}
    assert range_fit(span, {"drive": "FOUR"}) == ([], ["gearbox"])
    outside, _ = range_fit(span, {"drive": "rear", "gearbox": "automatic"})
    assert outside == ["Drive four, but this one has rear."]
