"""Numbers as typed: taken exactly or asked about, never guessed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.numbers import NumberError, parse_number


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", "12"),
        (" 12.50 ", "12.50"),
        (".5", "0.5"),
        ("7.", "7"),
        ("1,234.5", "1234.5"),
        ("3,500", "3500"),
        ("1,234,567", "1234567"),
        ("1 234.5", "1234.5"),
        ("1\u00a0234", "1234"),
        ("+4", "4"),
        ("\uff11\uff12", "12"),
    ],
)
def test_numbers_that_leave_no_doubt_are_taken(text: str, value: str) -> None:
    assert parse_number(text) == Decimal(value)


@pytest.mark.parametrize("text", ["12,5", "1.234,5", "1,23", "12,3456", "1,2345.6", "1,5,7"])
def test_a_comma_that_may_be_a_decimal_sign_is_asked_about(text: str) -> None:
    with pytest.raises(NumberError, match="comma"):
        parse_number(text)


def test_where_thousands_make_no_sense_each_comma_is_asked_about() -> None:
    # 12,640 typed for volts is far more likely twelve and a bit than twelve thousand.
    with pytest.raises(NumberError, match="comma"):
        parse_number("12,640", grouped=False)
    assert parse_number("12 640", grouped=False) == 12640


@pytest.mark.parametrize(
    "text", ["1e5", "inf", "nan", "0x10", "1_000", "9**9**9", "--1", "1.2.3", "twelve", "٣"]
)
def test_other_spellings_are_no_numbers(text: str) -> None:
    with pytest.raises(NumberError, match="not a number"):
        parse_number(text, signed=True)


@pytest.mark.parametrize("text", ["", "   "])
def test_nothing_is_asked_for(text: str) -> None:
    with pytest.raises(NumberError, match="Enter a number"):
        parse_number(text)


def test_minus_is_taken_only_where_it_makes_sense() -> None:
    assert parse_number("-40", signed=True) == -40
    assert parse_number("\u221240", signed=True) == -40
    with pytest.raises(NumberError, match="negative"):
        parse_number("-40")


@pytest.mark.parametrize(
    ("text", "value"), [("1/2", "0.5"), ("2 1/2", "2.5"), ("2-1/4", "2.25"), ("2½", "2.5")]
)
def test_fractions_where_inches_are_asked(text: str, value: str) -> None:
    assert parse_number(text, fractions=True) == Decimal(value)


def test_fractions_elsewhere_and_over_nothing_are_refused() -> None:
    with pytest.raises(NumberError, match="not a number"):
        parse_number("1/2")
    with pytest.raises(NumberError, match="below the line"):
        parse_number("1/0", fractions=True)


@given(st.decimals(min_value=0, max_value=10**9, places=3))
def test_any_number_comes_back_from_its_plain_and_its_grouped_spelling(value: Decimal) -> None:
    assert parse_number(f"{value:f}") == value
    assert parse_number(f"{value:,f}") == value


@given(st.text(max_size=60))
def test_any_text_gives_a_number_or_a_sentence(text: str) -> None:
    sentence, value = "", None
    try:
        value = parse_number(text, signed=True, fractions=True)
    except NumberError as fault:
        sentence = str(fault)
    if value is None:
        assert sentence.endswith((".", "?"))
    else:
        assert value.is_finite()
