"""What is no photo is refused in a sentence that says what it is and what to do."""

import subprocess
import sys
import zipfile
from contextlib import suppress
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageFile

from installs.photos import apart
from installs.photos.prepare import MAX_BYTES, PhotoRefused, prepare
from tests.factories.pictures import (
    HEIC_FILE,
    camera_jpeg,
    noisy,
    png_of_nothing,
    saved,
    two_halves,
)

ROOT = Path(__file__).parents[3]


def refusal(data: bytes) -> str:
    with pytest.raises(PhotoRefused) as refused:
        prepare(data)
    return str(refused.value)


@pytest.mark.parametrize(
    ("data", "named"),
    [
        (saved(two_halves(), "GIF"), "This file is GIF, whatever"),
        (saved(two_halves(), "BMP"), "This file is BMP, whatever"),
        (saved(two_halves(), "TIFF"), "This file is TIFF or raw, whatever"),
        (saved(two_halves(), "WEBP"), "This file is WebP, whatever"),
        (b"%PDF-1.7\n%...", "This file is PDF, whatever"),
        (b"PK\x03\x04" + b"\0" * 40, "This file is ZIP or office, whatever"),
        (b"<svg xmlns='x'></svg>", "This file is SVG, whatever"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "This file is a film, whatever"),
        (b"\0\0\0\x1cftypavif\0\0\0\0avifmif1", "This file is AVIF, whatever"),
        (b"\0\0\0\x1cftypmif1\0\0\0\0mif1avif", "This file is AVIF, whatever"),
        (b"MZ\x90\0" + b"\0" * 60, "not a photo"),
        (b"hello, this is text", "not a photo"),
    ],
)
def test_another_kind_is_named_whatever_the_file_is_called(data: bytes, named: str) -> None:
    sentence = refusal(data)
    assert named in sentence
    assert "Send a JPEG, PNG or HEIC." in sentence


def test_an_empty_and_a_huge_file_are_refused_unread() -> None:
    assert "empty" in refusal(b"")
    assert "at most 30 MB" in refusal(b"\xff\xd8\xff" + b"\0" * MAX_BYTES)


def test_a_moving_png_is_refused() -> None:
    film = saved(two_halves(), "PNG", save_all=True, append_images=[Image.new("RGB", (64, 48))])
    assert "moves" in refusal(film)


def _zipped() -> bytes:
    target = BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("run.js", "1")
    return target.getvalue()


@pytest.mark.parametrize(
    ("data", "other"),
    [
        (camera_jpeg() + _zipped(), "ZIP archive"),
        (camera_jpeg(comment=b"<script>fetch('/')</script>"), "web page"),
        (saved(two_halves(), "PNG") + b"<HTML><body>", "web page"),
        (camera_jpeg(comment=b"<?php system($_GET[0]); ?>"), "web page"),
        (camera_jpeg(comment=b"%PDF-1.7 ", exif=Image.Exif()), "PDF"),
    ],
    ids=["jpeg + zip", "script in a comment", "png + page", "php in a comment", "jpeg + pdf"],
)
def test_a_file_that_is_two_things_at_once_is_refused(data: bytes, other: str) -> None:
    assert f"a picture and a {other} at once" in refusal(data)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIC"])
@pytest.mark.parametrize("part", [0.15, 0.5, 0.9])
def test_a_file_that_ends_too_early_is_refused(
    kind: str, part: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As the maker of PDFs leaves it once a paper was printed.
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    data = HEIC_FILE.read_bytes() if kind == "HEIC" else saved(noisy((640, 480)), kind)
    sentence = refusal(data[: int(len(data) * part)])
    assert f"This {kind} is damaged or ends too early." in sentence


@pytest.mark.filterwarnings("ignore")  # the reader grumbles over damage before it fails
@given(data=st.binary(max_size=300), start=st.sampled_from(
    [b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"]
))  # fmt: skip
def test_no_bytes_at_all_do_anything_else_than_be_refused(start: bytes, data: bytes) -> None:
    assert refusal(start + data).endswith(".")


@pytest.mark.filterwarnings("ignore")
@given(st.data())
def test_a_flipped_byte_gives_a_photo_or_a_sentence(data: st.DataObject) -> None:
    """Never another error: each decoder fails in its own way."""
    whole = data.draw(st.sampled_from([camera_jpeg(), saved(two_halves(), "PNG")]))
    at = data.draw(st.integers(0, len(whole) - 1))
    broken = whole[:at] + bytes([data.draw(st.integers(0, 255))]) + whole[at + 1 :]
    with suppress(PhotoRefused):
        assert prepare(broken).jpeg.startswith(b"\xff\xd8")


def test_a_heic_that_kills_its_reader_is_refused_and_nothing_else_happens() -> None:
    """One flipped byte of a photo: the reader of HEIC ends its process by a memory fault."""
    whole = HEIC_FILE.read_bytes()
    broken = whole[:176] + b"\xff" + whole[177:]
    assert "This HEIC is damaged or ends too early." in refusal(broken)
    assert prepare(whole).width == 48, "the next one is read as ever"


def test_a_heic_whose_reader_never_comes_back_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "SECONDS", 0.001)
    assert "damaged" in refusal(HEIC_FILE.read_bytes())


@pytest.mark.parametrize("at", range(8, 780, 64))
def test_a_damaged_heic_gives_a_photo_or_a_sentence(at: int) -> None:
    whole = HEIC_FILE.read_bytes()
    with suppress(PhotoRefused):
        assert prepare(whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :]).jpeg


BOMB = """
import resource, sys, time
from installs.photos.prepare import PhotoRefused, prepare
from tests.factories.pictures import camera_jpeg
prepare(camera_jpeg())
data = sys.stdin.buffer.read()
before, start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.perf_counter()
try:
    prepare(data)
except PhotoRefused as refused:
    seconds = time.perf_counter() - start
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    print(seconds, grown, refused, sep="|")
"""


@pytest.mark.parametrize(
    ("width", "height"), [(19_000, 19_000), (100, 1_000_000), (30_000, 20), (12_000, 12_000)]
)
def test_a_small_file_that_unfolds_to_a_huge_picture_is_refused_unopened(
    width: int, height: int
) -> None:
    bomb = png_of_nothing(width, height)
    assert len(bomb) < 100_000
    ran = subprocess.run(
        [sys.executable, "-c", BOMB], cwd=ROOT, input=bomb, capture_output=True, check=True
    )
    seconds, grown, sentence = ran.stdout.decode().split("|")
    assert float(seconds) < 1
    assert float(grown) < 5, "megabytes"
    assert "is too large" in sentence
