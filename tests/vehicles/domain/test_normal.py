"""Search spelling: what was stored is found however it is asked for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.normal import (
    MOST_TOKENS,
    fold,
    found_in,
    look_alike,
    lookup_text,
    squeeze,
    tokens,
)


@pytest.mark.parametrize("query", ["munoz", "Muñoz", "MUNOZ", "mun\u0303oz"])
def test_accents_and_capitals_make_no_difference(query: str) -> None:
    assert found_in(lookup_text(words=["Muñoz"]), query)
    assert found_in(lookup_text(words=["MUNOZ"]), query)


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Łódź", "lodz"),
        ("Sørensen", "sorensen"),
        ("Weiß", "weiss"),
        ("WEISS", "weiss"),
        ("Zürich", "zurich"),
        ("Ærø", "aero"),
        ("İpek", "ipek"),
    ],
)
def test_letters_that_hold_their_stroke_inside(text: str, folded: str) -> None:
    assert fold(text) == folded


PLATES = {plate: lookup_text(codes=[plate]) for plate in ("B NO 1234", "BN O 1234", "LOS-7353")}


@pytest.mark.parametrize(
    ("query", "plates"),
    [
        ("7353", {"LOS-7353"}),
        ("los 7353", {"LOS-7353"}),
        ("bno1234", {"B NO 1234", "BN O 1234"}),
        ("b-no 1234", {"B NO 1234", "BN O 1234"}),
        ("n0 1234", {"B NO 1234", "BN O 1234"}),
        ("l0s", {"LOS-7353"}),
        ("nope", set()),
    ],
)
def test_a_part_of_a_plate_is_enough_and_zero_may_be_an_o(query: str, plates: set[str]) -> None:
    assert {plate for plate, text in PLATES.items() if found_in(text, query)} == plates


def test_the_letter_typed_for_the_digit_is_offered_too() -> None:
    stored = lookup_text(codes=["TB-10Z"])
    assert found_in(stored, "tbioz")
    (token,) = tokens("tbioz")
    assert token.plain not in stored
    assert token.others == ("tb10z",)


def test_look_alikes_count_for_codes_and_not_for_names() -> None:
    assert not found_in(lookup_text(words=["Olio"]), "0110")


NUMBERS = lookup_text(words=["(212) 555-0187 x7"], phones=["+12125550187"])


@pytest.mark.parametrize(
    "query", ["2125550187", "212-555-0187", "(212) 555 0187", "+1 212.555.0187", "0187"]
)
def test_a_phone_is_found_in_any_spelling(query: str) -> None:
    assert found_in(NUMBERS, query)


@pytest.mark.parametrize("query", ["1-800-555-TOWS", "555-tows", "18005558697", "800 555 8697"])
def test_a_number_spelled_as_a_word_is_found_both_ways(query: str) -> None:
    assert found_in(lookup_text(words=["1-800-555-TOWS"], phones=["+18005558697"]), query)


def test_letters_asked_find_the_digits_stored() -> None:
    assert found_in(lookup_text(phones=["+18005558697"]), "800-555-TOWS")


def test_only_what_begins_like_a_number_and_is_long_enough_is_turned_into_keys() -> None:
    assert tokens("555-tows")[0].others == ("555t0ws", "5558697")
    assert tokens("55-tows")[0].others == ("55t0ws",)
    assert tokens("telleres")[0].others == ()


def test_the_zero_dialled_inside_a_country_does_not_hide_a_number() -> None:
    assert found_in(lookup_text(phones=["+442079460958"]), "02079460958")


def test_every_piece_has_to_occur() -> None:
    stored = lookup_text(words=["Ana-Maria O'Dell", "12 Elm Lane"], codes=["TB-10Z"])
    assert found_in(stored, "elm odell")
    assert found_in(stored, "maria tb10")
    assert not found_in(stored, "elm other")


def test_pieces_do_not_run_into_each_other() -> None:
    assert not found_in(lookup_text(words=["Ana Bell"], codes=["77", "88"]), "7788")
    assert not found_in(lookup_text(words=["Ana Bell"]), "anabell")


@pytest.mark.parametrize("query", ["", "  ", "-", "#?!"])
def test_asking_for_nothing_finds_nothing(query: str) -> None:
    assert tokens(query) == ()
    assert not found_in("anything", query)


def test_a_pasted_page_asks_for_its_first_pieces_only() -> None:
    assert len(tokens(" ".join(f"word{n}" for n in range(500)))) == MOST_TOKENS


def test_repeated_pieces_are_kept_once() -> None:
    assert lookup_text(words=["Bell bell BELL"]) == "bell"


@given(st.text(max_size=40))
def test_folding_twice_changes_nothing(text: str) -> None:
    assert fold(fold(text)) == fold(text)
    assert squeeze(squeeze(text)) == squeeze(text)
    assert look_alike(look_alike(text)) == look_alike(text)


@given(st.lists(st.text(max_size=20), max_size=4), st.text(max_size=20))
def test_what_was_stored_is_found_by_asking_for_it(others: list[str], text: str) -> None:
    assert found_in(lookup_text(words=[*others, text]), text) is bool(tokens(text))
    assert found_in(lookup_text(codes=[*others, text]), text) is bool(tokens(text))


@given(st.text(max_size=20))
def test_capitals_find_the_same(text: str) -> None:
    assert found_in(lookup_text(words=[text]), text.upper()) is bool(tokens(text.upper()))
