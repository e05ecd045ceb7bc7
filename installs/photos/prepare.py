"""From the bytes that somebody sent to a photo that can be kept: upright, small, and nothing else.

The picture is decoded and written anew. Place, owner, comments, previews and whatever else the
file carried stay behind; only the time of taking is read out and kept beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from hashlib import sha256

from .apart import unfold_apart
from .looks_like import HEIC, TAKEN, kind_of, second_kind
from .unfold import PhotoRefused, unfold

__all__ = ["LONG_SIDE", "MAX_BYTES", "PhotoRefused", "Prepared", "prepare"]

LONG_SIDE = 1600  # dots: enough for a plate across a car, and for half a page in print
MAX_BYTES = 30 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Prepared:
    """A photo as it is kept. `taken_at` is aware, None where the file did not say.

    `sha256` is of `jpeg`, `received_sha256` of the bytes that came in: the latter tells whether
    the same photo was sent once more.
    """

    jpeg: bytes
    thumb: bytes
    width: int
    height: int
    taken_at: datetime | None
    sha256: str
    received_sha256: str


def prepare(data: bytes, *, zone: tzinfo = UTC, long_side: int = LONG_SIDE) -> Prepared:
    """Return what is kept of a JPEG, PNG or HEIC of at most `MAX_BYTES`.

    `zone` is the one of a time that the camera wrote without saying where. Raises PhotoRefused.
    """
    kind = _checked_outside(data)
    # The reader of HEIC can take the whole process down with it over a damaged file.
    picture = unfold_apart(data, kind, long_side) if kind == HEIC else unfold(data, kind, long_side)
    told = (_instant(moment, offset, zone) for moment, offset in picture.times)
    return Prepared(
        jpeg=picture.jpeg,
        thumb=picture.thumb,
        width=picture.width,
        height=picture.height,
        taken_at=next((instant for instant in told if instant), None),
        sha256=sha256(picture.jpeg).hexdigest(),
        received_sha256=sha256(data).hexdigest(),
    )


def _checked_outside(data: bytes) -> str:
    """Return the kind; refuse by size and kind before any decoder sees the bytes."""
    if not data:
        raise PhotoRefused("The file is empty. Take or choose the photo again.")
    if len(data) > MAX_BYTES:
        raise PhotoRefused(
            f"The file has {len(data) / 1048576:.0f} MB; at most {MAX_BYTES // 1048576} MB are "
            "taken. Send it in a smaller size."
        )
    kind = kind_of(data)
    if kind not in TAKEN:
        found = f"This file is {kind}" if kind else "This is not a photo that can be read"
        raise PhotoRefused(f"{found}, whatever its name says. Send a JPEG, PNG or HEIC.")
    other = second_kind(data)
    if other:
        raise PhotoRefused(
            f"The file is a picture and a {other} at once. Take the photo again, or send a copy "
            "saved by a picture program."
        )
    return kind


def _instant(moment: str, offset: str, zone: tzinfo) -> datetime | None:
    """Return the instant that the camera meant; None for one that is no time at all."""
    try:
        local = datetime.strptime(moment.strip("\0 "), "%Y:%m:%d %H:%M:%S").replace(tzinfo=zone)
    except ValueError:
        return None
    try:
        told = datetime.strptime(offset.strip("\0 "), "%z").tzinfo
    except ValueError:
        told = None
    try:
        return local.replace(tzinfo=told or zone).astimezone(UTC)
    except (OverflowError, ValueError):
        return None  # the first or last day that a calendar knows
