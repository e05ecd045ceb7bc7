"""Invented pictures, as a camera or an ill-wisher would send them."""

import struct
import zlib
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageDraw

HEIC_FILE = Path(__file__).parents[1] / "installs" / "photos" / "sideways.heic"
RED, BLUE = (200, 30, 30), (30, 60, 200)
ORIENTATION, MAKER, EXIF, GPS = 0x0112, 0x010F, 0x8769, 0x8825
TAKEN_AT, TAKEN_OFFSET = 36867, 36881


def two_halves(size: tuple[int, int] = (64, 48)) -> Image.Image:
    """A picture whose left half is red and whose right half is blue."""
    image = Image.new("RGB", size, RED)
    ImageDraw.Draw(image).rectangle((size[0] // 2, 0, *size), fill=BLUE)
    return image


def camera_exif(orientation: int = 6, taken: str = "2026:03:14 09:05:07") -> Image.Exif:
    """What a camera writes beside the picture: maker, time, offset, place."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[MAKER] = "Invented maker"
    exif.get_ifd(EXIF).update({TAKEN_AT: taken, TAKEN_OFFSET: "-06:00"})
    exif.get_ifd(GPS).update({1: "N", 2: (40.0, 1.0, 2.0), 3: "W", 4: (105.0, 1.0, 2.0)})
    return exif


def camera_jpeg(size: tuple[int, int] = (64, 48), orientation: int = 6, **options: object) -> bytes:
    """A JPEG with all that a camera adds, and a comment."""
    target = BytesIO()
    told = {"exif": camera_exif(orientation), "comment": b"at the owner's house", **options}
    two_halves(size).save(target, "JPEG", quality=90, **told)
    return target.getvalue()


def noisy(size: tuple[int, int], seed: int = 1) -> Image.Image:
    """A picture that does not compress well, as a real one does not."""
    coarse = Image.effect_noise((size[0] // 8, size[1] // 8), 60 + seed)
    return Image.merge("RGB", [coarse, coarse.rotate(90), coarse.rotate(180)]).resize(size)


def png_of_nothing(width: int, height: int) -> bytes:
    """A whole, correct PNG of one bit a dot, made row by row so that it costs no memory here."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    packer = zlib.compressobj(9)
    row = b"\0" * (1 + (width + 7) // 8)
    packed = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    )


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    """The picture as a file of this kind."""
    target = BytesIO()
    image.save(target, kind, **options)
    return target.getvalue()
