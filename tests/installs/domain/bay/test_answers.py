"""Answers as tired people give them: what passes, what fails against which limit, what is asked.

The 15-minute hold is a mark taken from rules for trailers (14:59 fails, 15:00 passes); the
load-test limits are those of a vehicle maker's handbook: 9.4 V at 10 °C, 9.6 V at 20 °C.
"""

from typing import Any

import pytest

from installs.domain.bay.answers import AnswerError, Context, read_answer

HOLD = {"ask": {"least": 900}}
LOAD = {"ask": {"quantity": "voltage", "unit": "V", "table": "load_test"}}
HUB = {"ask": {"quantity": "temperature", "unit": "degF", "apart": 30, "group": "front hubs"}}
CHOICES = [{"value": "a", "words": "a"}, {"value": "b", "words": "b", "good": False}]
CHOICE = {"ask": {}, "choices": CHOICES}
TEO = Context(by="Teo")


def state(kind: str, doc: dict[str, Any], context: Context = TEO, **raw: Any) -> str:
    return read_answer(kind, doc, raw, context).state


@pytest.mark.parametrize(
    ("seconds", "wanted"),
    [("14:59", "failed"), ("15:00", "passed"), ("899", "failed"), ("900", "passed")],
)
def test_a_hold_passes_from_fifteen_minutes_on(seconds: str, wanted: str) -> None:
    assert state("timer", HOLD, seconds=seconds) == wanted


@pytest.mark.parametrize(
    ("volts", "celsius", "wanted"),
    [("9.45 V", "10 °C", "passed"), ("9.45 V", "20 °C", "failed"), ("9.6 V", "68 °F", "passed")],
)
def test_a_load_test_is_held_against_its_temperature(volts: str, celsius: str, wanted: str) -> None:
    assert state("number", LOAD, number=volts, temperature=celsius) == wanted


def test_hubs_of_one_axle_may_not_be_far_apart() -> None:
    other = Context(by="Teo", others={"Hub, left front": 110.0})
    assert state("number", HUB, other, number="180 °F") == "failed"
    assert state("number", HUB, other, number="130 °F") == "passed"


@pytest.mark.parametrize(
    ("kind", "doc", "raw", "field"),
    [
        ("tick", {}, {}, "done"),
        ("choice", CHOICE, {"choice": "c"}, "choice"),
        ("number", HUB, {"number": "180"}, "number"),
        ("number", LOAD, {"number": "9.6 V"}, "temperature"),
        ("timer", HOLD, {"seconds": "LED green"}, "seconds"),
        ("timer", HOLD, {}, "seconds"),
        ("photo", {}, {"photos": ""}, "photos"),
        ("second_person", {}, {"second": "TEO"}, "second"),
        ("person", {"person": "Ada"}, {"alone": "on"}, "shown"),
        ("signature", {}, {"drawn": "M1 1L2 2"}, "typed"),
        ("signature", {}, {"typed": "Ada", "drawn": "<script>"}, "drawn"),
        ("text", {}, {"text": "   "}, "text"),
        ("tick", {}, {"outcome": "not_applicable", "reason": "no"}, "outcome"),
        ("tick", {"may_skip": True}, {"outcome": "not_applicable"}, "reason"),
        ("tick", {"may_decline": True}, {"outcome": "declined", "reason": "no"}, "typed"),
    ],
)
def test_what_cannot_be_taken_is_asked_for_at_its_field(
    kind: str, doc: dict[str, Any], raw: dict[str, Any], field: str
) -> None:
    with pytest.raises(AnswerError) as asked:
        read_answer(kind, doc, raw, TEO)
    assert list(asked.value.faults) == [field]


def test_a_person_who_was_shown_and_did_not_do_it_is_not_done() -> None:
    assert state("person", {"person": "Ada"}, shown="on") == "failed"


def test_a_refused_signature_is_kept_as_refused() -> None:
    read = read_answer("signature", {}, {"refused": "in a hurry"}, Context())
    assert (read.state, read.value) == ("declined", {"refused": "in a hurry"})
