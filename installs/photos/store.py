"""Photos on disk: whole or not at all, each under a name that nothing else ever has."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from pathlib import Path

_THUMB = "-small"


def thumb_name(name: str) -> str:
    """Return the name of the small copy that lies beside a photo."""
    return f"{name.removesuffix('.jpg')}{_THUMB}.jpg"


def new_name(digest: str) -> str:
    """Return ``aa/<digest>-<random>.jpg`` below the folder of photos.

    The random part makes each file one photo's own: what one transaction leaves behind may then
    be deleted without asking whether another photo with the same content needs it.
    """
    return f"{digest[:2]}/{digest}-{secrets.token_hex(4)}.jpg"


def write_pair(root: Path, name: str, jpeg: bytes, thumb: bytes) -> None:
    """Write a photo and its small copy; raises OSError and leaves neither where one fails."""
    try:
        _write(root / thumb_name(name), thumb)
        _write(root / name, jpeg)
    except OSError:
        delete_pair(root, name)
        raise


def delete_pair(root: Path, name: str) -> None:
    """Delete a photo and its small copy, as far as they are there."""
    for file in (root / name, root / thumb_name(name)):
        file.unlink(missing_ok=True)


def _write(target: Path, data: bytes) -> None:
    """Write beside the place, down to the disk, and move it there in one step."""
    target.parent.mkdir(parents=True, exist_ok=True)
    draft = target.with_name(f".{target.name}.draft")
    try:
        with draft.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(target)
    except OSError:
        draft.unlink(missing_ok=True)
        raise
    # The new name is in the folder only once the folder itself is on the disk.
    folder = os.open(target.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def old_files(root: Path, before: float) -> Iterator[tuple[Path, str]]:
    """Yield each file last written before this Unix time, with the name of the photo it is of."""
    for file in root.glob("??/*"):
        try:
            old = file.stat().st_mtime < before
        except FileNotFoundError:  # another sweep was faster
            continue
        if old:
            plain = file.name.removeprefix(".").removesuffix(".draft").removesuffix(".jpg")
            yield file, f"{file.parent.name}/{plain.removesuffix(_THUMB)}.jpg"
