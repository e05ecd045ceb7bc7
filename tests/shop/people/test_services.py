"""Customers as people are: one word for a name, one address for two, phones as they say them."""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from shop.people import services
from shop.people.models import Consent, Customer, Ownership, Phone
from shop.people.services import PersonLine, Reach
from vehicles.models import Event, Vehicle
from vehicles.records import Actor, Clash

pytestmark = pytest.mark.django_db
MARA = Actor("Mara Voss", 1)


def customer(name: str = "Ines Okafor", **reach: object) -> Customer:
    return services.add_customer(actor=MARA, reach=Reach(**reach), name=name)


@pytest.mark.parametrize("name", ["Teller", "McGuinness", "MCGUINNESS", "E", "van der Berg"])
def test_a_name_is_stored_as_given(name: str) -> None:
    assert Customer.objects.get(pk=customer(name).pk).name == name


@pytest.mark.parametrize("name", ["Ann\nBcc: x@shop.example", "Ann\r", ""])
def test_a_name_that_could_write_a_header_is_refused(name: str) -> None:
    with pytest.raises(ValidationError) as refused:
        customer(name)
    assert list(refused.value.message_dict) == ["name"]
    assert not Customer.objects.exists()


def test_an_extension_survives_saving_and_editing() -> None:
    one = customer(phones=["(212) 555-0187 x7"])
    phone = Phone.objects.get(customer=one)
    assert (phone.typed, phone.e164, phone.extension) == ("(212) 555-0187 x7", "+12125550187", "7")
    services.change_customer(
        customer=one,
        changes={"note": "calls back"},
        reach=Reach(phones=["(212) 555-0187 x7"]),
        version=1,
        actor=MARA,
    )
    assert Phone.objects.get(customer=one).pk == phone.pk


def test_a_number_that_cannot_be_read_is_refused_and_nothing_is_saved() -> None:
    with pytest.raises(ValidationError, match="phone number"):
        customer(phones=["call my son"])
    assert not Customer.objects.exists()


def test_a_number_spelled_as_a_word_is_shown_as_typed_and_dialled_as_digits() -> None:
    phone = Phone.objects.get(customer=customer(phones=["1-800-555-TOWS"]))
    assert (phone.typed, phone.e164) == ("1-800-555-TOWS", "+18005558697")


def test_two_customers_may_share_an_address() -> None:
    customer("Ines Okafor", emails=["rig@okafor.example"])
    customer("Paul Okafor", emails=["rig@okafor.example"])
    assert Customer.objects.filter(emails__address="rig@okafor.example").count() == 2


def test_the_same_address_twice_on_one_customer_is_one() -> None:
    one = customer(emails=["a@okafor.example", "a@okafor.example"])
    assert one.emails.count() == 1


def test_changing_how_to_reach_moves_the_version_and_says_before_and_after() -> None:
    one = customer(phones=["303 555 0110"])
    changed = services.change_customer(
        customer=one,
        changes={},
        reach=Reach(phones=["303 555 0111"], persons=[PersonLine("Paul", hooks_up=True)]),
        version=1,
        actor=MARA,
    )
    assert changed.version == 2
    event = Event.objects.of_customer(one.pk).first()
    assert event.before["phones"] == ["303 555 0110"]
    assert event.after["phones"] == ["303 555 0111"]
    with pytest.raises(Clash):
        services.change_customer(customer=one, changes={}, reach=Reach(), version=1, actor=MARA)
    assert one.phones.get().typed == "303 555 0111"


def test_a_safety_notice_cannot_be_opted_out_of_even_in_the_database() -> None:
    one = customer()
    services.set_consent(
        customer=one, category="service", allowed=False, how="by phone", actor=MARA
    )
    first = Consent.objects.get()
    Consent.objects.update(said_at=datetime(2020, 1, 1, tzinfo=UTC))
    services.set_consent(
        customer=one, category="service", allowed=True, how="by letter", actor=MARA
    )
    assert Consent.objects.get().said_at >= first.said_at, "the day it was last said"
    with pytest.raises(IntegrityError), transaction.atomic():
        Consent.objects.create(customer=one, category="safety", allowed=False, how="by phone")


def test_a_vehicle_has_one_owner_at_a_time_and_a_history_of_them() -> None:
    first, second = customer("Ines Okafor"), customer("Teller")
    car = Vehicle.objects.create(kind="towed", make="Alder")
    held = services.start_ownership(customer=first, vehicle=car, since=date(2020, 1, 1), actor=MARA)
    with pytest.raises(ValidationError, match="still belongs to Ines Okafor"):
        services.start_ownership(customer=second, vehicle=car, since=date(2026, 1, 1), actor=MARA)
    with pytest.raises(ValidationError, match="cannot end before"):
        services.end_ownership(ownership=held, until=date(2019, 1, 1), why="sold", actor=MARA)
    services.end_ownership(ownership=held, until=date(2026, 1, 1), why="sold", actor=MARA)
    services.start_ownership(customer=second, vehicle=car, since=date(2026, 1, 1), actor=MARA)
    assert [o.customer for o in Ownership.objects.filter(vehicle=car)] == [second, first]
