"""What no keyboard writes: refused with a sentence, before any page reads it."""

import pytest
from django.test import Client
from django.urls import reverse

from shop.people.models import Customer
from tests.factories.people import UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client: Client) -> Client:
    client.force_login(UserFactory())
    return client


@pytest.mark.parametrize(
    "url",
    ["/log/?who=%00", "/log/?did=a%00b", "/components/?kind=%00", "/find/?q=%00", "/?%00=x"],
)
def test_a_nul_in_an_address_is_refused(desk: Client, url: str) -> None:
    answer = desk.get(url)
    assert answer.status_code == 400
    assert "a character that is no text (NUL)" in answer.content.decode()


def test_a_nul_in_a_posted_field_is_refused_and_saves_nothing(desk: Client) -> None:
    url = reverse("desk:customer_add")
    assert desk.post(url, {"name": "Wren\x00Alder"}).status_code == 400
    assert not Customer.objects.exists()
    assert desk.post(url, {"name": "Wren Alder"}).status_code != 400


def test_text_is_let_through(desk: Client) -> None:
    assert desk.get("/log/?who=%C3%84nne%20%F0%9F%9A%99").status_code == 200
