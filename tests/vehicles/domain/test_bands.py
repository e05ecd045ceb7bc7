"""Bands: bounds that hold, verdicts at and around a limit, and what is missing."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.bands import (
    Band,
    Unknown,
    Verdict,
    at_least,
    at_most,
    band,
    give_or_take,
    hull,
    spread,
    worst,
)
from vehicles.domain.inputs import InputError, figure, not_negative, positive, share, temperature
from vehicles.domain.units import Kind, parse

numbers = st.floats(-1e3, 1e3)


@st.composite
def bands(draw, least: float = -1e3) -> Band:
    low, value, high = sorted(draw(st.lists(st.floats(least, 1e3), min_size=3, max_size=3)))
    return Band(value, low, high)


@pytest.mark.parametrize(
    ("low", "value", "high", "verdict"),
    [
        (15, 15, 15, Verdict.PASS),
        (14.99, 14.99, 14.99, Verdict.FAIL),
        (15, 16, 17, Verdict.PASS),
        (14, 16, 17, Verdict.CLOSE),
        (14, 14.5, 15, Verdict.CLOSE),
        (12, 13, 14.9, Verdict.FAIL),
    ],
)
def test_at_least_fifteen(low, value, high, verdict) -> None:
    held = at_least("held", Band(value, low, high), 15, unit="min")
    assert held.verdict is verdict
    assert held.margin == Band(value - 15, low - 15, high - 15)
    mirrored = at_most("held", Band(-value, -high, -low), -15)
    assert mirrored.verdict is verdict
    assert verdict.value in held.words


def test_equality_survives_the_last_binary_digit() -> None:
    assert at_least("fuse", 15, 12 / 0.8).verdict is Verdict.PASS
    assert at_most("sum", 0.1 + 0.2, 0.3).verdict is Verdict.PASS
    assert at_most("weight", 4000.001, 4000).verdict is Verdict.FAIL


@pytest.mark.parametrize("value", [None, Unknown(("measure the volts",)), Unknown(())])
def test_a_missing_value_names_what_to_measure(value) -> None:
    held = at_least("volts at the port", value, 10.5, unit="V")
    assert held.verdict is Verdict.UNKNOWN
    assert held.value is None
    assert held.margin is None
    assert held.measure
    assert held.measure[0] in held.words


def test_a_missing_limit_is_unknown_too() -> None:
    held = at_most("drop", 0.3, None, unit="V")
    assert held.verdict is Verdict.UNKNOWN
    assert held.measure == ("drop: record its limit",)


def test_an_endless_value_passes() -> None:
    held = at_least("hours", Band(math.inf, 7, math.inf), 6, unit="h")
    assert held.verdict is Verdict.PASS
    assert "(7.00 or more)" in held.words


def test_the_words_of_a_band() -> None:
    assert Band(12.3, 12.1, 12.45).words("V") == "12.30 V (12.10 to 12.45)"
    assert band(12.3).words("V", 1) == "12.3 V"
    assert Unknown(("a", "b")).words == "unknown: a; b"
    assert Unknown(()).words == "unknown"


def test_bounds_that_do_not_enclose_are_refused() -> None:
    with pytest.raises(InputError, match="does not lie between"):
        Band(5, 1, 4)
    with pytest.raises(InputError, match="does not lie between"):
        Band(math.nan, 1, 4)
    with pytest.raises(InputError, match="cannot be negative"):
        give_or_take(5, -1)
    with pytest.raises(InputError, match="may be 0"):
        1 / Band(1, 0, 2)
    with pytest.raises(InputError, match="none"):
        hull([])


@given(bands(), bands(), st.data())
def test_what_lies_in_two_bands_lies_in_their_sum_difference_and_product(one, two, data) -> None:
    a, b = (data.draw(st.floats(it.low, it.high)) for it in (one, two))
    for found, exact in ((one + two, a + b), (one - two, a - b), (one * two, a * b)):
        slack = 1e-9 * max(1.0, abs(exact))
        assert found.low - slack <= exact <= found.high + slack
        assert found.low <= found.value <= found.high


@given(bands(), bands(least=0.01), st.data())
def test_what_lies_in_two_bands_lies_in_their_quotient(one, two, data) -> None:
    a, b = (data.draw(st.floats(it.low, it.high)) for it in (one, two))
    found = one / two
    slack = 1e-9 * max(1.0, abs(a / b))
    assert found.low - slack <= a / b <= found.high + slack


@given(numbers, numbers)
def test_bands_without_doubt_are_numbers(one, two) -> None:
    assert (band(one) + two) == band(one + two)
    assert (one - band(two)) == band(one - two)
    assert (band(one) * two).certain


@given(bands(), bands())
def test_a_wider_band_never_turns_close_into_sure(value, limit) -> None:
    sure = at_least("it", value, limit).verdict
    wider = Band(value.value, value.low - 1, value.high + 1)
    loose = at_least("it", wider, limit).verdict
    assert loose in (sure, Verdict.CLOSE)


def test_spread_and_hull() -> None:
    assert spread(lambda x: -x, Band(2, 1, 4)) == Band(-2, -4, -1)
    assert hull([Band(2, 1, 3), band(9)]) == Band(2, 1, 9)
    assert Band(2, 1, 4).width == 3
    assert Band(math.inf, math.inf, math.inf).width == 0


def test_the_verdict_of_a_whole() -> None:
    ok, bad, close, dark = Verdict.PASS, Verdict.FAIL, Verdict.CLOSE, Verdict.UNKNOWN
    assert worst([ok, ok]) is ok
    assert worst([ok, close]) is close
    assert worst([ok, close, dark]) is dark
    assert worst([ok, close, dark, bad]) is bad
    assert worst([]) is dark


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: positive("wire length", 0), "Wire length: 0 was given; it must be more than 0."),
        (lambda: not_negative("drop", -1), "Drop: -1 was given; it cannot be negative."),
        (lambda: share("derate", 80), "a share lies above 0 and at most at 1"),
        (lambda: positive("amps", math.inf), "not a number that can be reckoned with"),
        (lambda: positive("amps", None), "“None” is not a number"),
        (lambda: temperature("air", -273.15), "colder than anything can be"),
    ],
)
def test_sentences_at_the_door(call, sentence) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert sentence in str(caught.value)


def test_a_typed_quantity_comes_in_canonical_units_and_of_its_kind_only() -> None:
    assert figure("rating", parse(Kind.MASS, "5,000 lb"), Kind.MASS) == pytest.approx(2267.9619)
    with pytest.raises(InputError, match="a mass is asked for") as caught:
        figure("rating", parse(Kind.TORQUE, "80 ft lb"), Kind.MASS)
    assert caught.value.field == "rating"
