"""Keeping photos: once per device's id, file and row together, or neither."""

import logging
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.timezone import get_default_timezone

from installs.models import Photo
from installs.photos import store
from installs.photos.marks import MarksError, read_marks
from installs.photos.prepare import PhotoRefused, Prepared, prepare
from vehicles.models import Vehicle
from vehicles.records import Actor, change_record, record_event

log = logging.getLogger(__name__)
PHOTO_FIELDS = ("subject", "caption", "marks")
# Clocks of cameras run ahead a little; a day ahead is a wrong clock.
_AHEAD = timedelta(days=1)
# An upload that still runs is younger than this, whatever happens to it.
_STRAY_AFTER = timedelta(days=1)


def keep_photo(
    *,
    client_id: UUID,
    vehicle: Vehicle,
    data: bytes,
    actor: Actor,
    now: datetime,
    subject: str | None = None,
    caption: str = "",
    marks: Any = None,
    taken_at: datetime | None = None,
) -> Photo:
    """Make `data` into a photo and keep it; sent again under the same id, return what is kept.

    `taken_at` (aware) is what the device says; the camera's own word in the file goes before it.
    Raises ValidationError by field: `photo` for bytes that are none, `marks`, `client_id` for an
    id under which another photo is kept. Raises OSError where the disk takes no more: nothing is
    then kept. Call it outside a larger transaction where that is possible: files of one that is
    undone later are left to `sweep_photos`.
    """
    drawn = _marks(marks)
    try:
        ready = prepare(data, zone=get_default_timezone())
    except PhotoRefused as refused:
        raise ValidationError({"photo": str(refused)}) from refused
    earlier = Photo.objects.filter(client_id=client_id).first()
    if earlier is not None:
        return _same(earlier, ready, vehicle)
    photo = Photo(
        client_id=client_id,
        vehicle=vehicle,
        subject=subject,
        caption=caption,
        marks=drawn,
        taken_at=_believed(ready.taken_at, now) or _believed(taken_at, now),
        by=actor.name,
        file=store.new_name(ready.sha256),
        sha256=ready.sha256,
        received_sha256=ready.received_sha256,
        width=ready.width,
        height=ready.height,
    )
    photo.full_clean(exclude=["client_id", "vehicle"])
    try:
        return _kept(photo, ready, actor)
    except IntegrityError:
        # The same photo came twice at once, and the other one was faster.
        faster = Photo.objects.filter(client_id=client_id).first()
        if faster is None:
            raise
        return _same(faster, ready, vehicle)


def _marks(told: Any) -> list[dict[str, Any]]:
    try:
        return read_marks([] if told is None else told)
    except MarksError as error:
        raise ValidationError({"marks": str(error)}) from error


def _believed(moment: datetime | None, now: datetime) -> datetime | None:
    """Return the time unless it lies in the future, where no photo was taken yet."""
    return moment if moment is not None and moment <= now + _AHEAD else None


def _same(earlier: Photo, ready: Prepared, vehicle: Vehicle) -> Photo:
    """Return the photo kept under the id; refuse where another one comes under it."""
    if earlier.vehicle_id == vehicle.pk and earlier.received_sha256 == ready.received_sha256:
        return earlier
    raise ValidationError(
        {
            "client_id": "Another photo is kept under this id already. Nothing was overwritten: "
            "take the photo again."
        }
    )


def _kept(photo: Photo, ready: Prepared, actor: Actor) -> Photo:
    """Write files and row; where the row cannot be written, the files go again."""
    root: Path = settings.PHOTOS_DIR
    store.write_pair(root, photo.file, ready.jpeg, ready.thumb)
    try:
        with transaction.atomic():
            photo.save(force_insert=True)
            record_event(
                actor=actor,
                verb="photographed",
                subject=photo,
                after={
                    "subject": photo.subject,
                    "taken_at": photo.taken_at,
                    "sha256": photo.sha256,
                },
                vehicle_id=photo.vehicle_id,
            )
    except BaseException:
        store.delete_pair(root, photo.file)
        raise
    return photo


def change_photo(
    *, photo: Photo, changes: Mapping[str, Any], version: int, actor: Actor, why: str = ""
) -> Photo:
    """Change what is said of a photo or drawn on it; the picture itself is never changed.

    Raises ValidationError, and `Clash` where somebody was faster.
    """
    told = {name: changes[name] for name in PHOTO_FIELDS if name in changes}
    if "marks" in told:
        told["marks"] = _marks(told["marks"])
    checked = Photo.objects.get(pk=photo.pk)
    for name, value in told.items():
        setattr(checked, name, value)
    checked.clean_fields(exclude=[f.name for f in Photo._meta.fields if f.name not in told])
    return change_record(
        record=photo,
        changes=told,
        version=version,
        actor=actor,
        verb="changed",
        why=why,
        vehicle_id=photo.vehicle_id,
    )


def file_of(photo: Photo, *, small: bool = False) -> Path:
    """Return where the photo lies, or its small copy."""
    root: Path = settings.PHOTOS_DIR
    return root / (store.thumb_name(photo.file) if small else photo.file)


def sweep_photos(*, now: datetime) -> int:
    """Delete files older than a day that no row speaks of; return how many.

    They are left by a crash between file and row, or by a larger transaction that was undone.
    """
    before = (now - _STRAY_AFTER).timestamp()
    old = list(store.old_files(settings.PHOTOS_DIR, before))
    gone = 0
    for start in range(0, len(old), 500):
        part = old[start : start + 500]
        kept = set(
            Photo.objects.filter(file__in={name for _, name in part}).values_list("file", flat=True)
        )
        for file, name in part:
            if name not in kept:
                file.unlink(missing_ok=True)
                gone += 1
    if gone:
        log.info("%d file(s) of photos that were never kept are gone.", gone)
    return gone
