"""Names stay as people give them, and can stand in a mail's header."""

from __future__ import annotations

from email.headerregistry import Address
from email.message import EmailMessage

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.people.domain.names import capitals_suggestion, greeting, name_fault


@pytest.mark.parametrize("name", ["Teller", "E", "McGuinness", "van der Berg", "李小龍", "O'Dell"])
def test_any_name_of_one_line_is_taken(name: str) -> None:
    assert name_fault(name) is None
    assert greeting(name) == name


def test_what_they_asked_to_be_called_comes_first() -> None:
    assert greeting("Ana Maria Teller", "Ana Maria") == "Ana Maria"
    assert greeting("Ana  Maria Teller ", " ") == "Ana Maria Teller"


@pytest.mark.parametrize(
    ("name", "offer"),
    [
        ("MCGUINNESS", "McGuinness"),
        ("O'BRIEN", "O'Brien"),
        ("JOHN'S TOWING", "John's Towing"),
        ("MARY-ANN TELLER", "Mary-Ann Teller"),
        ("ÉLODIE", "Élodie"),
        ("TBXY", "Tbxy"),
    ],
)
def test_a_name_all_in_capitals_gets_an_offer(name: str, offer: str) -> None:
    assert capitals_suggestion(name) == offer


@pytest.mark.parametrize(
    "name", ["McGuinness", "E", "TBX", "van der Berg", "李小龍", "李小龍李", "1234", ""]
)
def test_other_names_get_no_offer(name: str) -> None:
    assert capitals_suggestion(name) is None


@pytest.mark.parametrize("name", ["", "  ", "\t"])
def test_nothing_is_no_name(name: str) -> None:
    assert "one word is enough" in (name_fault(name) or "")


@pytest.mark.parametrize("mark", ["\n", "\r", "\r\n", "\u2028", "\u2029", "\x85", "\v", "\f"])
def test_line_breaks_are_refused_with_a_sentence(mark: str) -> None:
    assert "one line" in (name_fault(f"Teller{mark}Bcc: x@example.org") or "")


@pytest.mark.parametrize("mark", ["\x00", "\x1b", "\u202e", "\u2066", "\ud800"])
def test_what_cannot_be_printed_is_refused(mark: str) -> None:
    assert "cannot be printed" in (name_fault(f"Tel{mark}ler") or "")


def test_joiners_that_some_scripts_need_are_taken() -> None:
    assert name_fault("ک\u200cک") is None


def test_a_book_is_no_name() -> None:
    assert "too long" in (name_fault("x" * 151) or "")


@given(st.text(max_size=60))
def test_a_name_that_is_taken_stands_in_a_mail_header(name: str) -> None:
    if name_fault(name) is None:
        message = EmailMessage()
        message["To"] = Address(display_name=name, username="a", domain="example.org")
        assert message["To"].addresses[0].addr_spec == "a@example.org"


@given(st.text(max_size=60))
def test_offers_never_change_letters_but_their_capitals(name: str) -> None:
    offer = capitals_suggestion(name)
    if offer is not None:
        assert offer.lower() == name.lower()
