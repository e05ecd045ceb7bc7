"""Phone numbers keep all that was typed. Numbers with 555-01xx are set aside for fiction."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.people.domain.phones import read_phone


@pytest.mark.parametrize(
    "typed",
    [
        "(212) 555-0187 x7",
        "212-555-0187 ext. 7",
        "212 555 0187, extension 7",
        "+1 212 555 0187 #7",
        "tel:+1-212-555-0187;ext=7",
    ],
)
def test_extension_is_kept_beside_the_number(typed: str) -> None:
    phone = read_phone(typed)
    assert phone.typed == typed
    assert (phone.e164, phone.extension) == ("+12125550187", "7")
    assert phone.uri == "tel:+12125550187;ext=7"
    assert phone.fault is None


def test_number_spelled_as_a_word_is_dialled_by_its_keys() -> None:
    phone = read_phone("1-800-555-TOWS")
    assert phone.e164 == "+18005558697"
    assert phone.typed == "1-800-555-TOWS"
    assert phone.uri == "tel:+18005558697"
    assert read_phone("1-800-555-TOWS x12").extension == "12"


def test_other_countries_by_plus_sign_or_by_the_customers_country() -> None:
    assert read_phone("+44 20 7946 0958").e164 == "+442079460958"
    assert read_phone("020 7946 0958", country="GB").e164 == "+442079460958"
    # Italy keeps the zero, also after the country's code.
    assert read_phone("+39 06 698 12345").e164 == "+390669812345"


def test_without_an_area_code_it_is_asked_for() -> None:
    assert "area code" in (read_phone("555-0187").fault or "")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "read as a phone number"),
        ("call Bob", "read as a phone number"),
        ("12", "too short"),
        ("1-800-555-TOWTRUCK", "too long"),
        ("+999 1234567", "No country"),
        ("2" * 61, "60 characters"),
    ],
)
def test_what_cannot_be_a_number_gets_a_sentence_and_nothing_to_dial(
    typed: str, words: str
) -> None:
    phone = read_phone(typed)
    assert words in (phone.fault or "")
    assert phone.e164 == ""
    assert phone.uri == ""
    assert phone.typed == typed


@pytest.mark.parametrize(
    "typed",
    [
        "212 555 0187 / 212 555 0188",
        "212 555 0187 or 0188",
        "(212) 555-0187 x302/x2303",
        "212 555 0187 x 7 or 9",
    ],
)
def test_a_second_number_is_never_dropped_in_silence(typed: str) -> None:
    phone = read_phone(typed)
    assert phone.fault
    assert phone.e164 == ""


def test_a_number_that_is_not_given_out_is_kept_with_a_note() -> None:
    phone = read_phone("555-123-4567")
    assert phone.e164 == "+15551234567"
    assert phone.fault is None
    assert phone.note


def test_an_extension_longer_than_its_column_is_refused() -> None:
    assert read_phone("212 555 0187 ext 1234567890").extension == "1234567890"
    assert "10 digits" in (read_phone("212 555 0187 ext 12345678901").fault or "")


def test_an_unknown_country_of_the_customer_does_not_blame_a_plus_sign() -> None:
    assert "read as a phone number" in (read_phone("212 555 0187", country="ZZ").fault or "")
    assert read_phone("+1 212 555 0187", country="ZZ").e164 == "+12125550187"


def test_the_longest_text_is_still_read() -> None:
    assert read_phone("2125550187".rjust(60)).e164 == "+12125550187"


@given(
    st.from_regex(r"(\+?1[ -]?)?[2-9][0-9]{2}[ -]?555[ -]?[0-9]{4}", fullmatch=True),
    st.text("0123456789()-. xX#/,;ext", max_size=12),
)
def test_no_digit_is_lost_between_typing_and_dialling(number: str, tail: str) -> None:
    phone = read_phone(number + tail)
    if phone.fault is None:
        digits = "".join(c for c in number + tail if c.isdigit())
        assert (phone.e164 + phone.extension).removeprefix("+1") == digits.removeprefix("1")


@given(st.from_regex(r"[2-9][0-9]{2}555[0-9]{4}", fullmatch=True), st.integers(0, 99999))
def test_any_extension_comes_back(number: str, extension: int) -> None:
    phone = read_phone(f"{number} x{extension}")
    assert (phone.e164, phone.extension) == (f"+1{number}", str(extension))
