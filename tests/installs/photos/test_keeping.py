"""Keeping a photo: once per id, file and row together or neither, whatever happens meanwhile."""

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from installs.models import Photo
from installs.photos import store
from installs.services import photos
from installs.services.photos import change_photo, file_of, keep_photo, sweep_photos
from tests.factories.pictures import camera_jpeg, saved, two_halves
from tests.factories.vehicles import TowedFactory
from vehicles.models import Event
from vehicles.records import Actor, Clash

pytestmark = pytest.mark.django_db
TEO = Actor("Teo Lindgard", 7)
NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
ID = UUID("0190a1b2-0000-7000-8000-000000000001")


def keep(**told: Any) -> Photo:
    return keep_photo(
        **{
            "client_id": ID,
            "vehicle": told.pop("vehicle", None) or TowedFactory(),
            "data": camera_jpeg(),
            "actor": TEO,
            "now": NOW,
            **told,
        }
    )


def files(folder: Path) -> list[str]:
    return sorted(str(file.relative_to(folder)) for file in folder.glob("**/*") if file.is_file())


def test_a_photo_is_kept_with_its_small_copy_and_a_line_in_the_log(folder: Path) -> None:
    photo = keep(subject="base plate", caption="Torque marks", marks=[])
    assert photo.taken_at == datetime(2026, 3, 14, 15, 5, 7, tzinfo=UTC)
    assert (photo.width, photo.height, photo.by) == (48, 64, "Teo Lindgard")
    assert file_of(photo).read_bytes().startswith(b"\xff\xd8\xff")
    assert file_of(photo, small=True).exists()
    assert len(files(folder)) == 2
    assert photo.file.startswith(f"{photo.sha256[:2]}/{photo.sha256}")
    event = Event.objects.get(verb="photographed")
    assert event.vehicle_id == photo.vehicle_id
    assert event.after["sha256"] == photo.sha256


def test_the_same_photo_sent_again_and_again_is_kept_once(folder: Path) -> None:
    vehicle = TowedFactory()
    kept = [keep(vehicle=vehicle).pk for _ in range(5)]
    assert len(set(kept)) == 1
    assert len(files(folder)) == 2
    assert Event.objects.filter(verb="photographed").count() == 1


@pytest.mark.parametrize("other", ["bytes", "vehicle"])
def test_another_photo_under_the_same_id_is_refused(folder: Path, other: str) -> None:
    first = keep()
    told: dict[str, Any] = {"vehicle": first.vehicle}
    told |= (
        {"data": camera_jpeg(orientation=1)} if other == "bytes" else {"vehicle": TowedFactory()}
    )
    with pytest.raises(ValidationError) as refused:
        keep(**told)
    assert "Another photo is kept under this id already" in str(refused.value)
    assert Photo.objects.count() == 1
    assert len(files(folder)) == 2


def test_the_one_who_was_slower_gets_the_photo_of_the_faster(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both looked, saw nothing under the id, and one row came first."""
    vehicle = TowedFactory()
    write = store.write_pair

    def overtaken(*args: Any) -> None:
        monkeypatch.setattr(store, "write_pair", write)
        keep(vehicle=vehicle)
        write(*args)

    monkeypatch.setattr(store, "write_pair", overtaken)
    photo = keep(vehicle=vehicle)
    assert photo == Photo.objects.get()
    assert files(folder) == sorted([photo.file, store.thumb_name(photo.file)])


@pytest.mark.parametrize(
    ("told", "field", "sentence"),
    [
        ({"data": b"GIF89a"}, "photo", "This file is GIF"),
        ({"marks": [{"shape": "star"}]}, "marks", "Mark 1 is neither"),
        ({"caption": "x" * 301}, "caption", "at most 300"),
        ({"subject": "x" * 81}, "subject", "at most 80"),
    ],
)
def test_what_cannot_be_kept_leaves_nothing_behind(
    folder: Path, told: dict[str, Any], field: str, sentence: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        keep(**told)
    assert sentence in str(refused.value.message_dict[field])
    assert files(folder) == []
    assert not Photo.objects.exists()


def test_a_row_that_fails_takes_its_files_along(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(**_: Any) -> None:
        raise RuntimeError("the power failed")

    monkeypatch.setattr(photos, "record_event", broken)
    with pytest.raises(RuntimeError, match="the power failed"):
        keep()
    assert files(folder) == []
    assert not Photo.objects.exists()


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_neither_file_nor_row(
    folder: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    real, calls = getattr(os, step), []

    def full(*args: Any, **kwargs: Any) -> Any:
        calls.append(args)
        if len(calls) > 1:
            raise OSError(28, "No space left on device")
        return real(*args, **kwargs)

    monkeypatch.setattr(os, step, full)
    with pytest.raises(OSError, match="No space left"):
        keep()
    assert files(folder) == []
    assert not Photo.objects.exists()


def test_an_undone_larger_transaction_leaves_files_that_the_sweep_takes(folder: Path) -> None:
    kept = keep(client_id=uuid4())

    @transaction.atomic
    def a_step_that_fails() -> None:
        keep(data=saved(two_halves((80, 60)), "PNG"))
        raise RuntimeError("undone")

    with pytest.raises(RuntimeError, match="undone"):
        a_step_that_fails()
    assert len(files(folder)) == 4
    (folder / kept.file[:2] / ".half.jpg.draft").write_bytes(b"half")

    assert sweep_photos(now=datetime.now(UTC)) == 0, "an upload may still run"
    long_ago = (NOW - timedelta(days=2)).timestamp()
    for name in files(folder):
        os.utime(folder / name, (long_ago, long_ago))
    assert sweep_photos(now=NOW) == 3
    assert files(folder) == sorted([kept.file, store.thumb_name(kept.file)])
    assert sweep_photos(now=NOW) == 0


def test_the_cameras_word_goes_before_the_devices_and_the_future_is_not_believed(
    folder: Path,
) -> None:
    at = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
    plain = saved(two_halves(), "PNG")
    assert keep(client_id=uuid4(), data=plain, taken_at=at).taken_at == at
    assert keep(client_id=uuid4(), data=plain).taken_at is None
    assert keep(client_id=uuid4(), data=plain, taken_at=at + timedelta(days=40)).taken_at is None
    assert keep(client_id=uuid4(), taken_at=at).taken_at != at


def test_marks_and_words_may_be_changed_and_the_slower_of_two_is_told(folder: Path) -> None:
    photo = keep()
    circle = {"shape": "circle", "at": [0.5, 0.5], "radius": 0.2}
    fresh = change_photo(
        photo=photo, changes={"marks": [circle], "caption": "Crack"}, version=1, actor=TEO
    )
    assert (fresh.marks, fresh.caption, fresh.version) == ([circle], "Crack", 2)
    with pytest.raises(Clash):
        change_photo(photo=photo, changes={"caption": "None"}, version=1, actor=TEO)
    with pytest.raises(ValidationError):
        change_photo(photo=photo, changes={"marks": [{"shape": "star"}]}, version=2, actor=TEO)
    assert Photo.objects.get().caption == "Crack"
