"""What each answer tells the browser, and that nobody signs up."""

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

pytestmark = pytest.mark.django_db
SIGN_IN = "/accounts/login/"


def test_the_policy_forbids_everything_from_elsewhere_and_inline(client: Client) -> None:
    answer = client.get(SIGN_IN)

    policy = dict(
        part.strip().split(" ", 1) for part in answer["Content-Security-Policy"].split(";") if part
    )
    assert policy == {
        "default-src": "'self'",
        "object-src": "'none'",
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
        "form-action": "'self'",
    }
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Permissions-Policy"] == "camera=(self), geolocation=()"


def test_a_page_of_somebody_signed_in_is_never_stored(client: Client) -> None:
    user = get_user_model().objects.create_user(username="wren", password="only for this test")
    client.force_login(user)

    answer = client.get("/accounts/password/change/")

    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"


def test_a_page_without_sign_in_leads_to_it(client: Client) -> None:
    answer = client.get("/accounts/password/change/")

    assert answer.status_code == 302
    assert answer["Location"].startswith(SIGN_IN)


def test_nobody_signs_up(client: Client) -> None:
    form = {"username": "eve", "email": "eve@elsewhere.example", "password1": "a long sentence"}

    answer = client.post("/accounts/signup/", form)

    assert answer.status_code == 200
    assert not get_user_model().objects.filter(username="eve").exists()


@pytest.mark.parametrize("login", ["wren", "wren@quillcreek.example"])
def test_staff_sign_in_by_name_or_address(client: Client, login: str) -> None:
    get_user_model().objects.create_user(
        username="wren", email="wren@quillcreek.example", password="only for this test"
    )

    answer = client.post(SIGN_IN, {"login": login, "password": "only for this test"})

    assert answer.status_code == 302
    assert answer["Location"] == "/"
