"""Taking in a vehicle sheet by upload: every fault listed, nothing saved half."""

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse

from shop.people.models import User
from tests.factories.desk import crestline, okafors
from tests.factories.people import UserFactory
from vehicles.models import Event, ModelRange, Vehicle

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client: Client) -> Client:
    client.force_login(UserFactory(role=User.Role.DESK))
    return client


def upload(client: Client, content: Any, query: str = "", **fields: str) -> Any:
    raw = content if isinstance(content, bytes) else json.dumps(content).encode()
    file = SimpleUploadedFile("sheet.json", raw, content_type="application/json")
    return client.post(reverse("desk:sheet_import") + query, {"file": file, **fields})


def test_a_sheet_is_taken_in_for_its_customer(desk: Client) -> None:
    customer = okafors()
    response = upload(desk, crestline(), f"?customer={customer.pk}", since="2024-05-01")
    vehicle = Vehicle.objects.get()
    assert response.url == reverse("desk:vehicle", args=[vehicle.pk])
    owned = vehicle.ownerships.get()
    assert (owned.customer, owned.since.isoformat()) == (customer, "2024-05-01")


def test_a_windows_editor_s_mark_at_the_start_does_no_harm(desk: Client) -> None:
    assert upload(desk, b"\xef\xbb\xbf" + json.dumps(crestline()).encode()).status_code == 302


def test_every_fault_is_listed_with_its_place_and_nothing_is_saved(desk: Client) -> None:
    document = crestline()
    document["feed_map"]["fuses"][0]["feed"] = "terminal:99"
    document["procedure"]["steps"][4]["target"] = "F99"
    response = upload(desk, document)
    html = response.content.decode()
    assert response.status_code == 422
    assert "<code>/feed_map/fuses/0/feed</code>" in html
    assert "<code>/procedure/steps/4/target</code>" in html
    assert "F05, F06, F07" in html
    assert not Vehicle.objects.exists()
    assert not ModelRange.objects.exists()
    assert not Event.objects.exists()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"{", "This file is not JSON: line 1, column 2"),
        (b"\xff\xfe\x00", "This file is no text in UTF-8"),
        (b"[" * 100_000, "This file is nested too deeply"),
        (b" " * 1_000_001, "This file is larger than any vehicle sheet"),
        (b"", "The submitted file is empty."),
        (b'{"a": NaN}', "This file cannot be read: NaN is no number."),
        (b'{"a": 1, "a": 2}', "the name “a” stands twice in one group."),
        (b'{"a": "\\u0000"}', "it holds a NUL or half a character"),
    ],
)
def test_what_is_no_json_is_named_at_the_field(desk: Client, content: bytes, sentence: str) -> None:
    assert sentence in upload(desk, content).content.decode()
    assert not Vehicle.objects.exists()


def test_a_double_click_makes_one_vehicle(desk: Client) -> None:
    sheet = crestline()
    del sheet["vehicle"]["vin"]
    first, second = (upload(desk, sheet, once="the same form") for _ in range(2))
    assert second.url == first.url
    assert Vehicle.objects.count() == 1


def test_another_file_sent_from_the_same_page_is_another_sheet(desk: Client) -> None:
    first, second = (upload(desk, crestline(number), once="the same form") for number in (1, 2))
    assert first.url != second.url
    assert Vehicle.objects.count() == 2


def test_a_sheet_that_meets_somebody_else_s_at_the_same_moment_is_told(
    desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.desk.views.sheets.load_sheet", _too_late)
    html = upload(desk, crestline()).content.decode()
    assert "Somebody else saved the same thing at this moment" in html


def _too_late(*_: object, **__: object) -> None:
    raise IntegrityError("duplicate key")


def test_a_vehicle_that_is_known_by_its_vin_is_not_taken_in_again(desk: Client) -> None:
    assert upload(desk, crestline(), once="one").status_code == 302
    assert upload(desk, crestline(), once="another").status_code == 422
    assert Vehicle.objects.count() == 1


@pytest.mark.parametrize("query", ["?customer=987654", "?customer=mine"])
def test_a_customer_that_is_not_there_is_not_found(desk: Client, query: str) -> None:
    assert desk.get(reverse("desk:sheet_import") + query).status_code == 404
