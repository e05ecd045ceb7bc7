"""Date codes: read, asked about, or refused."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from installs.domain.datecodes import AmbiguousDateCodeError, DateCodeError, parse_date_code

TODAY = date(2026, 5, 12)


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("2024-03", date(2024, 3, 1)),
        (" 2024/3 ", date(2024, 3, 1)),
        ("03/2024", date(2024, 3, 1)),
        ("2024-03-15", date(2024, 3, 15)),
        ("2024-w07", date(2024, 2, 12)),
        ("2020W53", date(2020, 12, 28)),
        ("2026-05-12", TODAY),
        ("2026-05", date(2026, 5, 1)),
    ],
)
def test_codes_that_say_their_year_are_read(text: str, made: date) -> None:
    assert parse_date_code(text, today=TODAY) == made


def test_four_digits_are_asked_about_with_what_they_may_mean() -> None:
    with pytest.raises(AmbiguousDateCodeError) as caught:
        parse_date_code("2307", today=TODAY)
    assert caught.value.choices == (
        ("2023-W07", date(2023, 2, 13)),
        ("2007-W23", date(2007, 6, 4)),
        ("2023-07", date(2023, 7, 1)),
    )
    assert "several ways" in str(caught.value)


def test_readings_that_lie_in_the_future_are_not_offered() -> None:
    with pytest.raises(AmbiguousDateCodeError) as caught:
        parse_date_code("2347", today=TODAY)
    assert [reading for reading, _ in caught.value.choices] == ["2023-W47"]


def test_each_choice_can_be_entered_as_offered() -> None:
    with pytest.raises(AmbiguousDateCodeError) as caught:
        parse_date_code("2307", today=TODAY)
    for reading, made in caught.value.choices:
        assert parse_date_code(reading, today=TODAY) == made


def test_four_digits_that_mean_nothing_are_refused() -> None:
    with pytest.raises(DateCodeError, match="no year") as caught:
        parse_date_code("9999", today=TODAY)
    assert not isinstance(caught.value, AmbiguousDateCodeError)


@pytest.mark.parametrize("text", ["2026-06", "2026-05-13", "2027-W01"])
def test_future_is_refused(text: str) -> None:
    with pytest.raises(DateCodeError, match="future"):
        parse_date_code(text, today=TODAY)


@pytest.mark.parametrize("text", ["2024-13", "2025-02-29", "2024-W54", "2021-W53", "00/2024"])
def test_what_is_not_in_the_calendar_is_refused(text: str) -> None:
    with pytest.raises(DateCodeError, match="calendar"):
        parse_date_code(text, today=TODAY)


def test_before_1970_is_refused() -> None:
    with pytest.raises(DateCodeError, match="too long ago"):
        parse_date_code("1969-12", today=TODAY)
    assert parse_date_code("1970-01", today=TODAY) == date(1970, 1, 1)


@pytest.mark.parametrize("text", ["", "March", "3/24", "24-03", "2024", "20240"])
def test_other_forms_are_refused_or_asked_about(text: str) -> None:
    with pytest.raises(DateCodeError):
        parse_date_code(text, today=TODAY)


@given(st.text("0123456789-/.W ", max_size=12))
def test_no_code_is_read_as_a_future_day(text: str) -> None:
    try:
        made = parse_date_code(text, today=TODAY)
    except DateCodeError:
        made = TODAY
    assert made <= TODAY
