"""Unfolding a picture: from a file of known kind to small JPEGs with nothing but the picture."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import Any

from PIL import Image, ImageCms, ImageFile, ImageOps, UnidentifiedImageError

from .looks_like import HEIC, JPEG, PNG

THUMB_SIDE = 320
MAX_PIXELS = 64_000_000  # phones reach 50 million
MAX_SIDE = 20_000
_QUALITY, _THUMB_QUALITY = 82, 75
_OPENERS = {JPEG: ("JPEG", "MPO"), PNG: ("PNG",), HEIC: ("HEIF",)}
# All that the readers of the formats are known to raise over a file that is not as it says.
_BROKEN = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    KeyError,
    IndexError,
    AttributeError,
    EOFError,
    RuntimeError,
    OverflowError,
    ZeroDivisionError,
    struct.error,
)

# Numbers of the tags in the EXIF standard: its own block; taken, digitised, and their offsets.
_EXIF = 0x8769
_TIMES = ((36867, 36881), (36868, 36882))


class PhotoRefused(ValueError):  # noqa: N818 - it is what happened, not a fault of the program
    """The bytes are no photo that can be kept; `str()` of it is a sentence for the person."""


@dataclass(frozen=True, slots=True)
class Unfolded:
    """The picture as it is kept, its small copy, its size in dots, and the times it carried.

    `times` are pairs of what the camera wrote, time and offset from UTC, the shutter's first.
    """

    jpeg: bytes
    thumb: bytes
    width: int
    height: int
    times: tuple[tuple[str, str], ...]


def unfold(data: bytes, kind: str, long_side: int) -> Unfolded:
    """Return the picture of a file whose `kind` is known, at most `long_side` dots long.

    Raises PhotoRefused, by the size that the file announces before anything is decoded.
    """
    image = _opened(data, kind)
    times = _times(image)
    small = _decoded(image, kind, long_side)
    thumb = small.copy()
    thumb.thumbnail((THUMB_SIDE, THUMB_SIDE))
    return Unfolded(
        jpeg=_written(small, _QUALITY),
        thumb=_written(thumb, _THUMB_QUALITY),
        width=small.width,
        height=small.height,
        times=times,
    )


def _opened(data: bytes, kind: str) -> Image.Image:
    """Read the head of the file only; refuse by the size that it announces."""
    # The maker of PDFs, once loaded, makes the library fill what is missing of a picture with grey
    # for the whole process. Half a photo is no proof of anything.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    if kind == HEIC:
        _learn_heic()
    try:
        image = Image.open(BytesIO(data), formats=_OPENERS[kind])
        frames = getattr(image, "n_frames", 1)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise PhotoRefused(_too_large()) from None
    except (UnidentifiedImageError, *_BROKEN):
        raise PhotoRefused(damaged(kind)) from None
    if image.width * image.height > MAX_PIXELS or max(image.size) > MAX_SIDE:
        raise PhotoRefused(_too_large(image.size))
    # Phones put a second view or a brightness map behind the first picture of a JPEG or HEIC. In a
    # PNG more than one picture is a film.
    if kind == PNG and frames > 1:
        raise PhotoRefused("This PNG moves. Send a still picture.")
    return image


@cache
def _learn_heic() -> None:
    """Teach the picture library HEIC once, when the first one comes: it costs start-up time."""
    import pi_heif  # noqa: PLC0415

    pi_heif.register_heif_opener(thumbnails=False)


def _too_large(size: tuple[int, int] | None = None) -> str:
    told = f" of {size[0]:,} × {size[1]:,} dots" if size else ""
    return (
        f"A picture{told} is too large: at most {MAX_PIXELS // 1_000_000} million dots and "
        f"{MAX_SIDE:,} along one side are taken."
    )


def damaged(kind: str) -> str:
    """Return the sentence for a file whose inside is not as its first bytes promise."""
    return f"This {kind} is damaged or ends too early. Send it again, or take the photo again."


def _decoded(image: Image.Image, kind: str, long_side: int) -> Image.Image:
    """Return the picture upright, at most `long_side`, as plain RGB without anything attached."""
    try:
        # A JPEG can be decoded at a half, a quarter or an eighth: memory then stays small. Twice
        # the wanted size leaves enough to scale down from.
        image.draft("RGB", (long_side * 2, long_side * 2))
        image.load()
        icc = image.info.get("icc_profile")
        upright = _in_full_shades(ImageOps.exif_transpose(image))
        upright.thumbnail((long_side, long_side), Image.Resampling.LANCZOS)
        plain = _plain_rgb(upright, icc)
    except (Image.DecompressionBombError, MemoryError):
        raise PhotoRefused(_too_large(image.size)) from None
    except _BROKEN:
        raise PhotoRefused(damaged(kind)) from None
    fresh = Image.new("RGB", plain.size)
    fresh.paste(plain)
    return fresh


def _in_full_shades(image: Image.Image) -> Image.Image:
    """Return a picture whose dots can be mixed when it is scaled: no palette, no 16-bit grey."""
    if image.mode.startswith("I"):
        # Scaled to 8 bits, for a plain conversion would clip everything above 255.
        return image.convert("I").point(lambda level: level * (1 / 256)).convert("L")
    if "transparency" in image.info:
        return image.convert("RGBA")
    return image.convert("RGB") if image.mode in {"1", "P"} else image


def _plain_rgb(image: Image.Image, icc: bytes | None) -> Image.Image:
    """Return 8-bit RGB in the common colour space, on white where it was transparent."""
    if "A" in image.getbands():
        over = image.convert("RGBA")
        white = Image.new("RGBA", over.size, "white")
        image = Image.alpha_composite(white, over).convert("RGB")
    if icc and image.mode in {"RGB", "CMYK", "L"}:
        image = _in_common_colours(image, icc)
    return image.convert("RGB")


def _in_common_colours(image: Image.Image, icc: bytes) -> Image.Image:
    """Convert by the profile, which is not kept; a profile that cannot be read is left out."""
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(icc))
        target = ImageCms.createProfile("sRGB")
        converted: Any = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image
    return converted or image


def _written(image: Image.Image, quality: int) -> bytes:
    target = BytesIO()
    image.save(target, "JPEG", quality=quality, optimize=True)
    return target.getvalue()


def _times(image: Image.Image) -> tuple[tuple[str, str], ...]:
    try:
        told = image.getexif().get_ifd(_EXIF)
        return tuple((str(told.get(at, "")), str(told.get(off, ""))) for at, off in _TIMES)
    except _BROKEN:
        return ()
