"""A photo is given to staff only, under a readable name, and the browser asks again each time."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Photo
from installs.services.photos import file_of, keep_photo
from tests.factories.people import UserFactory
from tests.factories.pictures import camera_jpeg
from tests.factories.vehicles import TowedFactory
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)


@pytest.fixture
def photo(settings: Any, tmp_path: Path) -> Photo:
    settings.PHOTOS_DIR = tmp_path
    return keep_photo(
        client_id=uuid4(),
        vehicle=TowedFactory(),
        data=camera_jpeg(),
        subject="Muñoz – base plate / left",
        actor=Actor("Teo Lindgard"),
        now=NOW,
    )


def address(photo: Photo, name: str = "photo") -> str:
    return reverse(f"desk:{name}", args=[photo.client_id])


@pytest.mark.parametrize("name", ["photo", "photo_small"])
def test_staff_get_the_kept_copy_and_never_what_was_sent(
    technician: Client, photo: Photo, name: str
) -> None:
    answer = technician.get(address(photo, name))
    body = answer.content
    assert answer["Content-Type"] == "image/jpeg"
    assert body == file_of(photo, small=name == "photo_small").read_bytes()
    assert b"Exif" not in body
    assert answer["Cache-Control"] == "private, no-cache"
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_the_name_says_day_and_subject_in_any_script(technician: Client, photo: Photo) -> None:
    """RFC 6266 and RFC 5987 (read): an inline file whose name is UTF-8, percent-encoded."""
    told = technician.get(address(photo))["Content-Disposition"]
    assert told.startswith("inline; filename*=utf-8''2026-03-14%20Mu%C3%B1oz%20%E2%80%93%20base")
    assert "/" not in told


def test_a_browser_that_has_it_is_told_so_after_the_same_check(
    technician: Client, photo: Photo
) -> None:
    tag = technician.get(address(photo))["ETag"]
    again = technician.get(address(photo), headers={"if-none-match": tag})
    assert again.status_code == 304
    small = technician.get(address(photo, "photo_small"), headers={"if-none-match": tag})
    assert small.status_code == 200
    stranger = Client().get(address(photo), headers={"if-none-match": tag})
    assert stranger.status_code == 302


def test_somebody_elses_photo_is_not_there(photo: Photo) -> None:
    client = Client()
    client.force_login(UserFactory(role=""))
    for name in ("photo", "photo_small"):
        answer = client.get(address(photo, name))
        assert answer.status_code == 404
        assert answer["Cache-Control"] == "no-store"


def test_a_made_up_id_and_a_lost_file_are_not_there(technician: Client, photo: Photo) -> None:
    assert technician.get(reverse("desk:photo", args=[uuid4()])).status_code == 404
    file_of(photo).unlink()
    assert technician.get(address(photo)).status_code == 404
    assert technician.post(address(photo)).status_code == 405
