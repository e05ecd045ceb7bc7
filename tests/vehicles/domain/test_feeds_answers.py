"""How answers combine: along a wire, side by side, and through a contact closed at rest."""

import itertools

import pytest

from vehicles.domain.answers import (
    Answer,
    Value,
    conditional,
    negate,
    off,
    on,
    parallel,
    series,
    timed,
    unknown,
)

ON = on("a", "fed")
OFF = off("b", "F08 is out (step 5)")
UNKNOWN = unknown("c", "nobody measured it")
TIMED_20 = timed("d", "timer", 20)
TIMED_10 = timed("e", "shorter timer", 10)
LOADED = conditional("f", "outlet", ["something draws"])
CHARGED = conditional("g", "outlet", ["the battery is above 12.1 V"])
EVERY = (ON, OFF, UNKNOWN, TIMED_20, TIMED_10, LOADED, CHARGED)


@pytest.mark.parametrize(
    ("one", "two", "value"),
    [
        (ON, ON, "ON"),
        (ON, OFF, "OFF"),
        (OFF, UNKNOWN, "OFF"),
        (UNKNOWN, LOADED, "UNKNOWN"),
        (UNKNOWN, TIMED_20, "UNKNOWN"),
        (ON, UNKNOWN, "UNKNOWN"),
        (TIMED_20, ON, "TIMED"),
        (LOADED, ON, "CONDITIONAL"),
        (LOADED, TIMED_20, "CONDITIONAL"),
        (TIMED_20, OFF, "OFF"),
    ],
)
def test_in_series_every_link_has_to_carry(one, two, value):
    assert series(one, two).value == value
    assert series(two, one).value == value


def test_series_keeps_the_shorter_timer_and_every_condition():
    both = series(series(TIMED_20, LOADED), series(TIMED_10, CHARGED))
    assert both.value is Value.CONDITIONAL
    assert both.until_minutes == 10
    assert both.conditions == ("something draws", "the battery is above 12.1 V")
    assert series(LOADED, LOADED).conditions == ("something draws",)


def test_series_is_never_better_than_its_worst_link():
    for one, two in itertools.product(EVERY, repeat=2):
        if series(one, two).value is Value.ON:
            assert one.value is Value.ON
            assert two.value is Value.ON


@pytest.mark.parametrize(
    ("one", "two", "value"),
    [
        (ON, OFF, "ON"),
        (ON, UNKNOWN, "ON"),
        (OFF, UNKNOWN, "UNKNOWN"),
        (LOADED, UNKNOWN, "UNKNOWN"),
        (LOADED, OFF, "CONDITIONAL"),
        (TIMED_10, OFF, "TIMED"),
        (OFF, OFF, "OFF"),
    ],
)
def test_side_by_side_one_is_enough(one, two, value):
    assert parallel([one, two]).value == value
    assert parallel([two, one]).value == value


def test_side_by_side_the_longer_timer_counts():
    assert parallel([TIMED_10, TIMED_20]).until_minutes == 20


def test_two_conditions_side_by_side_are_one_choice():
    either = parallel([LOADED, CHARGED])
    assert either.conditions == ("something draws, or the battery is above 12.1 V",)
    timed_or = parallel([LOADED, TIMED_10])
    assert timed_or.value is Value.CONDITIONAL
    assert timed_or.conditions == ("something draws, or within 10 min of key-off",)


def test_a_stricter_branch_adds_nothing():
    strict = series(LOADED, CHARGED)
    assert parallel([strict, LOADED]).conditions == LOADED.conditions
    assert parallel([LOADED, series(LOADED, TIMED_10)]).until_minutes is None


def test_no_branch_at_all_is_dead():
    assert parallel([]).value is Value.OFF


def test_a_dead_answer_names_the_break_of_every_branch():
    other = series(ON, off("coach", "the charge line is not plugged in"))
    dead = parallel([series(ON, OFF), other])
    assert [link.words for link in dead.chain if link.is_break] == [
        "F08 is out (step 5)",
        "the charge line is not plugged in",
    ]
    assert dead.why == "F08 is out (step 5)"


@pytest.mark.parametrize(
    ("coil", "contact"),
    [(ON, "OFF"), (OFF, "ON"), (UNKNOWN, "UNKNOWN"), (TIMED_20, "CONDITIONAL")],
)
def test_a_contact_closed_at_rest_turns_the_answer_round(coil, contact):
    assert negate(coil).value == contact


def test_a_contact_closed_at_rest_keeps_what_it_hangs_on():
    assert negate(series(LOADED, TIMED_20)).conditions == (
        "not (something draws and within 20 min of key-off)",
    )


def test_words_say_the_timer_and_the_conditions():
    assert series(LOADED, TIMED_20).words == (
        "CONDITIONAL, only while something draws, until 20 min after key-off"
    )
    assert ON.words == "ON"


def test_the_deciding_link_is_the_first_that_gives_the_answer():
    assert series(UNKNOWN, OFF).why == "F08 is out (step 5)"
    assert series(series(ON, UNKNOWN), TIMED_20).why == "nobody measured it"
    assert series(ON, on("ground", "ground at the body")).why == "fed"
    assert Answer(Value.OFF).deciding is None
