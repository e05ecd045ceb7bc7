"""VIN reading: what blocks, what only warns, and what is offered but never done.

All numbers are made up unless a test says otherwise.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.vin import (
    VinKind,
    check_digit,
    check_vin,
    clean_vin,
    maker_identification,
    model_year_candidates,
)

GOOD = "1M8GDM9AXKP042788"


def test_number_is_cleaned_of_spaces_dashes_and_small_letters() -> None:
    report = check_vin("  1m8-gdm9a xkp042788 ")
    assert report.text == GOOD
    assert report.typed == "  1m8-gdm9a xkp042788 "
    assert report.ok
    assert report.notes == ()
    assert report.kind is VinKind.STANDARD


def test_bar_code_asterisks_and_wide_digits_are_cleaned() -> None:
    assert clean_vin("*1M8GDM9AXKP042788*") == GOOD
    assert clean_vin("\uff11M8GDM9AXKP042788") == GOOD


def test_empty_number_is_asked_for() -> None:
    report = check_vin(" - ")
    assert report.faults
    assert report.match_key is None


@pytest.mark.parametrize(
    ("typed", "place", "offered"),
    [
        ("1M8GDM9AXKPO42788", 12, GOOD),
        ("IM8GDM9AXKP042788", 1, GOOD),
        ("1M8GDM9AXKPQ42788", 12, GOOD),
    ],
)
def test_letters_that_do_not_exist_are_refused_and_a_digit_is_only_offered(
    typed: str, place: int, offered: str
) -> None:
    report = check_vin(typed)
    assert report.kind is VinKind.UNUSABLE
    assert any(f"Position {place}" in fault for fault in report.faults)
    assert report.suggestion == offered
    assert report.text == typed


def test_each_forbidden_letter_gets_its_own_sentence() -> None:
    assert len(check_vin("IM8GDM9AXKPO42788").faults) == 2


def test_foreign_letters_and_signs_are_named() -> None:
    assert "'Ä'" in check_vin("1M8GDM9ÄXKP042788").faults[0]
    assert "'!'" in check_vin("1M8GDM9!XKP042788").faults[0]
    # A capital sharp s would silently become two letters.
    assert "'ß'" in check_vin("1M8GDM9ßXKP042788").faults[0]


def test_failing_check_digit_of_an_overseas_maker_warns_and_never_blocks() -> None:
    report = check_vin("WZZZZZ5NZEW000123")
    assert report.ok
    assert "give 2" in report.notes[0]
    assert "outside North America" in report.notes[0]
    assert report.match_key == "WZZZZZ5NZEW000123"


def test_failing_check_digit_of_a_north_american_number_points_to_a_misreading() -> None:
    report = check_vin(GOOD[:-1] + "9")
    assert report.ok
    assert "misread" in report.notes[0]


def test_failing_check_digit_leaves_both_years_open_even_for_a_light_vehicle() -> None:
    assert check_vin(GOOD, light=True).model_years == (1989,)
    assert check_vin(GOOD[:-1] + "9", light=True).model_years == (1989, 2019)


@pytest.mark.parametrize(
    "typed", ["1" * 17, "0" * 17, "X" * 17, "12345678901234567", "01234567890123456"]
)
def test_placeholder_warns_and_is_left_out_of_duplicate_matching(typed: str) -> None:
    report = check_vin(typed)
    assert report.ok
    assert report.placeholder
    assert any("placeholder" in note for note in report.notes)
    assert report.match_key is None


def test_real_looking_number_is_matched_for_duplicates() -> None:
    assert check_vin(GOOD).match_key == GOOD
    assert not check_vin(GOOD).placeholder


def test_thirteen_characters_are_taken_for_a_1968_vehicle() -> None:
    report = check_vin("8T02R123456AB", model_year=1968)
    assert report.ok
    assert report.kind is VinKind.PRE_1981
    assert report.match_key == "8T02R123456AB"
    assert report.model_years == ()
    assert report.maker is None


def test_old_numbers_may_hold_letters_that_were_dropped_in_1981() -> None:
    assert check_vin("8TO2Q123456", model_year=1968).ok


def test_thirteen_characters_are_refused_for_a_2012_vehicle() -> None:
    report = check_vin("8T02R123456AB", model_year=2012)
    assert not report.ok
    assert "13 characters" in report.faults[0]
    assert "2012" in report.faults[0]


@pytest.mark.parametrize(("year", "ok"), [(1980, True), (1981, False)])
def test_the_last_year_with_short_numbers_is_1980(year: int, ok: bool) -> None:
    assert check_vin("8T02R123456AB", model_year=year).ok is ok


def test_short_number_without_a_year_asks_for_the_year() -> None:
    report = check_vin("8T02R123456AB")
    assert not report.ok
    assert "enter the model year" in report.faults[0]


def test_a_few_characters_are_too_short_even_for_an_old_vehicle() -> None:
    assert check_vin("A1", model_year=1950).faults


def test_too_long_number_is_refused_with_its_length() -> None:
    assert "18 characters" in check_vin(GOOD + "1").faults[0]
    assert "bar code" in check_vin("I" + GOOD).faults[0]


def test_old_placeholder_is_not_matched() -> None:
    assert check_vin("11111111111", model_year=1968).match_key is None


def test_contradicting_model_year_warns_and_speaks_of_the_chassis() -> None:
    report = check_vin(GOOD, model_year=2003)
    assert report.ok
    assert "1989 or 2019" in report.notes[0]
    assert "chassis" in report.notes[0]
    assert check_vin(GOOD, model_year=2019).notes == ()


def test_position_seven_decides_the_cycle_of_light_vehicles_only() -> None:
    letter_in_seven = "1M8GDMAAXKP042788"
    assert model_year_candidates(letter_in_seven, light=True) == (2019,)
    assert model_year_candidates(GOOD, light=True) == (1989,)
    assert model_year_candidates(GOOD, light=False) == (1989, 2019)
    assert model_year_candidates(GOOD) == (1989, 2019)


def test_years_still_to_come_can_be_left_out() -> None:
    assert model_year_candidates("1M8GDM9AXXP042788", latest=2026) == (1999,)


@pytest.mark.parametrize("code", "UZ0IOQ")
def test_characters_that_code_no_year_give_none(code: str) -> None:
    assert model_year_candidates(GOOD[:9] + code + GOOD[10:]) == ()


def test_low_volume_maker_is_named_by_six_characters() -> None:
    assert maker_identification("1Z9RP1A36A1644345") == "1Z9644"
    assert maker_identification(GOOD) == "1M8"


@pytest.mark.parametrize("call", [check_digit, model_year_candidates, maker_identification])
def test_functions_on_17_characters_refuse_other_lengths(call: Callable[[str], object]) -> None:
    with pytest.raises(ValueError, match="17 characters"):
        call("1M8")


@given(st.text(max_size=40), st.none() | st.integers(1900, 2040), st.none() | st.booleans())
def test_any_text_gets_a_report_and_keeps_what_was_typed(
    text: str, year: int | None, light: bool | None
) -> None:
    report = check_vin(text, model_year=year, light=light)
    assert report.typed == text
    assert report.ok == (report.kind is not VinKind.UNUSABLE)
    assert all(sentence.endswith((".", "?")) for sentence in report.faults + report.notes)
