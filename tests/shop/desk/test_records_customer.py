"""Customers by form: stored as given, refused with a sentence, never twice, never overwritten."""

import pytest
from django.test import Client
from django.urls import reverse

from shop.people.models import Consent, Customer
from shop.people.services import change_customer
from tests.factories.desk import ACTOR, okafors
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Event

ADD = "/customers/new/"


def change_url(customer: Customer) -> str:
    return reverse("desk:customer_change", args=[customer.pk])


def test_a_customer_is_stored_as_typed_with_all_ways_to_reach_them(desk: Client) -> None:
    answer = fill_in(
        desk,
        ADD,
        name="Teller",
        phones="(303) 555-0187 x7\n1-800-555-TOWS",
        emails="teller@mail.example",
        **{"persons-0-name": "E", "persons-0-hooks_up": "on"},
    )
    one = Customer.objects.get()
    assert answer.url == reverse("desk:customer", args=[one.pk])
    assert [(p.typed, p.e164, p.extension) for p in one.phones.all()] == [
        ("(303) 555-0187 x7", "+13035550187", "7"),
        ("1-800-555-TOWS", "+18005558697", ""),
    ]
    assert [(p.name, p.hooks_up) for p in one.persons.all()] == [("E", True)]
    event = Event.objects.get(customer_id=one.pk)
    assert (event.actor, event.verb, event.after["name"]) == ("Desk", "added customer", "Teller")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": "  "}, "Name: Enter a name; one word is enough."),
        ({"name": "Ann\nBcc: x@shop.example"}, "take the line break out"),
        ({"phones": "12"}, "“12”: This number is too short"),
        ({"emails": "not an address"}, "“not an address” is not an e-mail address"),
        ({"country": "XX"}, "“XX” is not the two-letter code of a country."),
        ({"persons-0-called": "Sam"}, "Person 1, Name: Enter a name; one word is enough."),
    ],
)
def test_what_is_wrong_stands_at_the_field_and_nothing_is_saved(
    desk: Client, typed: dict[str, str], sentence: str
) -> None:
    fine = {"name": "Wren Alder", "phones": "303 555 0187", "note": "kept while it is put right"}
    answer = fill_in(desk, ADD, **{**fine, **typed})
    assert answer.status_code == 200
    assert sentence in words_of(answer)
    back = sent_back(answer)
    assert back["note"] == ["kept while it is put right"]
    name, value = next(iter(typed.items()))
    assert back[name][0].split() == value.split()
    assert not Customer.objects.exists()
    assert not Event.objects.exists()


def test_a_name_in_capitals_is_kept_and_a_quieter_one_only_offered(desk: Client) -> None:
    answer = fill_in(desk, ADD, name="MCGUINNESS")
    assert Customer.objects.get().name == "MCGUINNESS"
    assert "McGuinness" in words_of(desk.get(answer.url))


def test_a_double_click_makes_one_customer(desk: Client) -> None:
    paper = {**sent_back(desk.get(ADD)), "name": "Wren Alder"}
    first, second = desk.post(ADD, paper), desk.post(ADD, paper)
    assert Customer.objects.count() == 1
    assert first.url == second.url


def test_going_back_and_typing_another_name_makes_another_customer(desk: Client) -> None:
    paper = sent_back(desk.get(ADD))
    desk.post(ADD, {**paper, "name": "Wren Alder"})
    desk.post(ADD, {**paper, "name": "Robin Sedge"})
    assert Customer.objects.count() == 2


def test_opening_and_saving_unchanged_changes_nothing(desk: Client) -> None:
    one = okafors()
    before = Event.objects.count()
    fill_in(desk, change_url(one))
    fresh = Customer.objects.get()
    assert (fresh.version, Event.objects.count()) == (one.version, before)
    assert [p.typed for p in fresh.phones.all()] == ["(303) 555-0187", "+1 303 555 0188 x12"]


def test_an_emptied_row_takes_the_person_away(desk: Client) -> None:
    one = okafors()
    fill_in(
        desk, change_url(one),
        **{"persons-0-name": "", "persons-0-part": "", "persons-0-hooks_up": []},
    )  # fmt: skip
    assert not one.persons.exists()


def clashing(desk: Client) -> tuple[Customer, dict[str, list[str]]]:
    """Two people change one customer; return what the second one's page would send now."""
    one = okafors(note="tall coach")
    paper = sent_back(desk.get(change_url(one)))
    change_customer(
        customer=one, changes={"note": "rings after six", "called": "Ines"}, reach=None,
        version=one.version, actor=ACTOR,
    )  # fmt: skip
    answer = desk.post(change_url(one), {**paper, "note": "rings before six", "phones": ""})
    assert "Mara Tennant" in words_of(answer)
    assert "In the record now: rings after six" in words_of(answer)
    assert "What you entered: rings before six" in words_of(answer)
    assert Customer.objects.get().note == "rings after six"
    return one, sent_back(answer)


def test_two_open_forms_show_both_values_and_wait_for_a_choice(desk: Client) -> None:
    one, paper = clashing(desk)
    assert paper["clash"] == ["note phones"]
    answer = desk.post(change_url(one), paper)
    assert "choose above which one holds" in words_of(answer)
    assert Customer.objects.get().note == "rings after six"


def test_the_chosen_value_holds(desk: Client) -> None:
    one, paper = clashing(desk)
    chosen = {**paper, "choose-note": "mine", "choose-phones": "theirs"}
    assert desk.post(change_url(one), chosen).status_code == 302
    assert Customer.objects.get().note == "rings before six"
    assert one.phones.count() == 2


def test_what_they_said_about_mails_is_kept(desk: Client) -> None:
    one = okafors()
    url = reverse("desk:consent_set", args=[one.pk])
    fill_in(desk, url, category="service", allowed="no", how="by phone")
    assert Consent.objects.get().allowed is False
    refused = fill_in(desk, url, category="safety", allowed="no", how="by phone")
    assert "safety is not one of the available choices" in words_of(refused)
    assert Consent.objects.count() == 1


def test_technicians_do_not_find_these_forms(technician: Client) -> None:
    one = okafors()
    assert technician.get(ADD).status_code == 404
    assert technician.post(change_url(one), {"name": "X"}).status_code == 404
    assert Customer.objects.get().name == one.name
