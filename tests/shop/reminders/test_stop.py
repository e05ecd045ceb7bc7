"""The page behind the link: looking changes nothing, pressing stops what was asked for."""

from datetime import date

import pytest
from django.test import Client

from shop.outbox.models import Suppression
from shop.people.models import Consent
from shop.reminders.services.tokens import stop_token
from tests.factories.people import CustomerFactory, EmailFactory
from tests.factories.reminders import RuleFactory, a_case
from vehicles.models import Event

pytestmark = pytest.mark.django_db
ONE_CLICK = {"List-Unsubscribe": "One-Click"}


def link(customer, category="service", address="wren@mail.example") -> str:
    token = stop_token(customer_id=customer.pk, category=category, address=address)
    return f"/stop/{token}/"


@pytest.fixture
def client() -> Client:
    return Client(enforce_csrf_checks=True)


@pytest.fixture
def customer():
    return EmailFactory(address="wren@mail.example").customer


def declined(customer) -> list[str]:
    rows = Consent.objects.filter(customer=customer, allowed=False)
    return list(rows.values_list("category", flat=True))


def test_scanners_that_follow_the_link_change_nothing(client, customer):
    for _ in range(3):
        response = client.get(link(customer))
        assert response.status_code == 200
        assert "wren@mail.example" in response.text
    assert client.head(link(customer)).status_code == 200
    assert client.put(link(customer)).status_code == 405
    assert not Consent.objects.exists()
    assert not Event.objects.exists()


@pytest.mark.parametrize("multipart", [True, False])
def test_one_click_needs_no_token_cookie_or_login_and_is_not_redirected(
    client, customer, multipart
):
    for _ in range(2):
        if multipart:
            response = client.post(link(customer), ONE_CLICK)
        else:
            response = client.post(
                link(customer),
                "List-Unsubscribe=One-Click",
                content_type="application/x-www-form-urlencoded",
            )
        assert response.status_code == 200
        assert "Location" not in response.headers
        assert not response.cookies
    assert declined(customer) == ["service"]
    assert "own button" in Event.objects.get().why


def test_the_button_on_the_page_stops_it(client, customer):
    response = client.post(link(customer), {"who": customer.pk})
    assert "No more service reminders." in response.text
    assert declined(customer) == ["service"]
    assert "on the page" in Event.objects.get().why


def test_the_due_items_fall_silent_at_once(client):
    RuleFactory()
    case = a_case()
    case.refresh(date(2026, 3, 2))
    client.post(link(case.customer), ONE_CLICK)
    assert case.item.contact_on is None
    assert "service reminders declined" in case.item.silence


def test_an_empty_post_is_asked_again_and_changes_nothing(client, customer):
    response = client.post(link(customer), {})
    assert "Choose whose messages shall stop." in response.text
    assert not declined(customer)


def test_two_customers_at_one_address_are_both_named_and_asked(client, customer):
    other = EmailFactory(address="Wren@mail.example", customer=CustomerFactory(name="Ben")).customer
    page = client.get(link(customer)).text
    assert customer.name in page
    assert "Ben" in page
    client.post(link(customer), {"who": other.pk})
    assert (declined(customer), declined(other)) == ([], ["service"])
    client.post(link(customer), {"who": "address"})
    assert Suppression.objects.get().address == "wren@mail.example"


def test_nobody_else_can_be_stopped_with_the_link(client, customer):
    stranger = EmailFactory(address="far@mail.example").customer
    client.post(link(customer), {"who": stranger.pk})
    assert not declined(stranger)


def test_safety_notices_cannot_be_stopped_and_the_page_says_so(client, customer):
    url = link(customer, category="safety")
    assert "cannot be switched off" in client.get(url).text
    for data in (ONE_CLICK, {"who": customer.pk}, {"who": "address"}):
        client.post(url, data)
    assert not Consent.objects.exists()
    assert not Suppression.objects.exists()


def test_a_token_that_is_not_ours_is_not_found(client, customer):
    good = link(customer)
    for bad in ("/stop/x/", good[:-3] + "xx/", good.replace(":", "")):
        for response in (client.get(bad), client.post(bad, ONE_CLICK)):
            assert response.status_code == 404
    assert not Consent.objects.exists()


def test_the_link_gives_no_address_away_and_outlives_a_change_of_address(client, customer):
    url = link(customer)
    assert "wren" not in url
    customer.emails.all().delete()
    page = client.get(url).text
    assert "wren@mail.example" not in page
    client.post(url, ONE_CLICK)
    assert declined(customer) == ["service"]


def test_a_customer_who_is_gone_is_not_found(client, customer):
    url = link(customer)
    customer.delete()
    assert client.get(url).status_code == 404
