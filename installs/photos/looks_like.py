"""What a file is, by its first bytes and never by its name."""

from __future__ import annotations

import re
import zipfile
from io import BytesIO

JPEG, PNG, HEIC = "JPEG", "PNG", "HEIC"
TAKEN = (JPEG, PNG, HEIC)

# First bytes of what people send instead of a photo, so that the refusal can name it.
_STARTS: tuple[tuple[bytes, str], ...] = (
    (b"\xff\xd8\xff", JPEG),
    (b"\x89PNG\r\n\x1a\n", PNG),
    (b"GIF8", "GIF"),
    (b"BM", "BMP"),
    (b"II*\x00", "TIFF or raw"),
    (b"MM\x00*", "TIFF or raw"),
    (b"%PDF-", "PDF"),
    (b"PK\x03\x04", "ZIP or office"),
    (b"<svg", "SVG"),
    (b"<?xml", "SVG or XML"),
    (b"8BPS", "Photoshop"),
)
# Brands of the box format that HEIC shares with films (ISO/IEC 23008-12 and its relatives; from
# memory). A sequence brand is taken too when a still picture is in the file.
_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"mif1"}
_BOX_BRANDS: dict[bytes, str] = {
    b"avif": "AVIF",
    b"avis": "animated AVIF",
    b"hevc": "animated HEIC",
    b"hevx": "animated HEIC",
    b"msf1": "animated HEIC",
}
_PAGE = re.compile(rb"<(?:script|html|!doctype html|\?php)", re.IGNORECASE)
_PDF_WITHIN = 1024  # readers of PDF look this far for its first words


def kind_of(data: bytes) -> str:
    """Return `JPEG`, `PNG` or `HEIC`, the common name of another known kind, or ""."""
    for start, name in _STARTS:
        if data.startswith(start):
            return name
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    if data[4:8] == b"ftyp":
        return _boxed(data)
    return ""


def _boxed(data: bytes) -> str:
    """Name a file of boxes by its brand; `mif1` says only "a still picture" and asks the others."""
    length = min(int.from_bytes(data[:4], "big"), 256)
    brand, others = data[8:12], {data[at : at + 4] for at in range(16, length, 4)}
    if brand == b"mif1" and b"avif" in others:
        return "AVIF"
    if brand in _HEIC_BRANDS:
        return HEIC
    return _BOX_BRANDS.get(brand, "a film")


def second_kind(data: bytes) -> str:
    """Name what else the bytes can be opened as (web page, PDF, ZIP); "" for a picture alone.

    Other bytes after the picture are no fault: phones append short films and depth there. None of
    it is kept, for the picture is written anew.
    """
    if b"%PDF-" in data[:_PDF_WITHIN]:
        return "PDF"
    if _PAGE.search(data):
        return "web page"
    if zipfile.is_zipfile(BytesIO(data)):
        return "ZIP archive"
    return ""
