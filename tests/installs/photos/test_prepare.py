"""What is kept of a photo, whoever sent it: upright, small, and nothing that a camera wrote."""

import struct
import subprocess
import sys
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from PIL import Image, ImageCms

from installs.photos.prepare import LONG_SIDE, Prepared, prepare
from installs.photos.unfold import THUMB_SIDE
from tests.factories.pictures import BLUE, HEIC_FILE, RED, camera_jpeg, noisy, saved, two_halves

ROOT = Path(__file__).parents[3]
DENVER = ZoneInfo("America/Denver")


def shown(ready: Prepared, *, small: bool = False) -> Image.Image:
    return Image.open(BytesIO(ready.thumb if small else ready.jpeg)).convert("RGB")


def like(dot: tuple[int, ...], wanted: tuple[int, ...], within: int = 30) -> bool:
    return all(abs(a - b) <= within for a, b in zip(dot, wanted, strict=True))


# All eight orientations of the EXIF standard (tag 0x0112): where the stored left edge is shown.
LEFT_EDGE_IS = {
    1: "left",
    2: "right",
    3: "right",
    4: "left",
    5: "top",
    6: "top",
    7: "bottom",
    8: "bottom",
}
SPOTS = {"left": (0.1, 0.5), "right": (0.9, 0.5), "top": (0.5, 0.1), "bottom": (0.5, 0.9)}


@pytest.mark.parametrize("small", [False, True], ids=["photo", "thumb"])
@pytest.mark.parametrize("orientation", sorted(LEFT_EDGE_IS))
def test_a_photo_held_any_way_stands_upright(orientation: int, small: bool) -> None:
    ready = prepare(camera_jpeg((640, 480), orientation))
    picture = shown(ready, small=small)
    across, down = SPOTS[LEFT_EDGE_IS[orientation]]
    dot = picture.getpixel((int(across * picture.width), int(down * picture.height)))
    assert like(dot, RED)
    far = picture.getpixel((int((1 - across) * picture.width), int((1 - down) * picture.height)))
    assert like(far, BLUE)
    assert (ready.width > ready.height) == (orientation < 5)
    assert Image.open(BytesIO(ready.jpeg)).getexif().get(0x0112, 1) == 1, "not turned twice"


@pytest.mark.parametrize("data", [camera_jpeg(), HEIC_FILE.read_bytes()], ids=["JPEG", "HEIC"])
def test_nothing_of_camera_place_or_comment_is_left(data: bytes) -> None:
    assert b"Invented" in data
    ready = prepare(data)
    for kept in (ready.jpeg, ready.thumb):
        picture = Image.open(BytesIO(kept))
        assert picture.format == "JPEG"
        assert dict(picture.getexif()) == {}
        assert not {"exif", "comment", "icc_profile", "xmp", "photoshop"} & set(picture.info)
        for trace in (b"Invented", b"owner's house", b"Exif", b"GPS", b"http"):
            assert trace not in kept


@pytest.mark.parametrize("data", [camera_jpeg(), HEIC_FILE.read_bytes()], ids=["JPEG", "HEIC"])
def test_the_time_of_taking_is_kept(data: bytes) -> None:
    assert prepare(data).taken_at == datetime(2026, 3, 14, 15, 5, 7, tzinfo=UTC)


def test_a_time_without_offset_is_read_on_the_shops_clock() -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[36867] = "2026:07:04 18:00:00"
    ready = prepare(saved(two_halves(), "JPEG", exif=exif), zone=DENVER)
    assert ready.taken_at == datetime(2026, 7, 5, 0, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "told", ["0000:00:00 00:00:00", "", "yesterday", "2026:13:41 25:61:61", "0001:01:01 00:00:00"]
)
def test_a_time_that_is_none_is_not_made_up(told: str) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[36867] = told
    assert (
        prepare(saved(two_halves(), "JPEG", exif=exif), zone=ZoneInfo("Asia/Tokyo")).taken_at
        is None
    )


def test_a_heic_with_a_lying_name_stands_upright_as_jpeg() -> None:
    """Names are never looked at: there is none to look at."""
    ready = prepare(HEIC_FILE.read_bytes())
    assert (ready.width, ready.height) == (48, 64)
    assert like(shown(ready).getpixel((24, 6)), RED)
    assert like(shown(ready).getpixel((24, 58)), BLUE)


def test_a_large_photo_is_scaled_and_a_small_one_is_not_blown_up() -> None:
    large = prepare(saved(noisy((4000, 3000)), "JPEG"))
    assert (large.width, large.height) == (LONG_SIDE, LONG_SIDE * 3 // 4)
    assert shown(large).size == (large.width, large.height)
    assert max(shown(large, small=True).size) == THUMB_SIDE
    tiny = prepare(saved(two_halves((40, 30)), "PNG"))
    assert (tiny.width, tiny.height) == (40, 30)


def test_the_same_bytes_give_the_same_photo_and_other_bytes_another() -> None:
    data = camera_jpeg()
    assert prepare(data) == prepare(data)
    assert prepare(data).received_sha256 != prepare(data + b"\0").received_sha256


def test_what_was_transparent_is_white() -> None:
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert shown(prepare(saved(clear, "PNG"))).getpixel((20, 20)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "I;16", "RGB", "RGBA"])
def test_a_png_of_any_depth_keeps_its_light_and_its_dark(mode: str) -> None:
    if mode == "I;16":
        dots = [(500 if across < 20 else 64_000) for across in range(40)] * 40
        image = Image.frombytes(mode, (40, 40), struct.pack("<1600H", *dots))
    else:
        image = Image.new("L", (40, 40), 2)
        image.paste(250, (20, 0, 40, 40))
        image = image.convert(mode)
    picture = shown(prepare(saved(image, "PNG")))
    assert max(picture.getpixel((5, 20))) < 20
    assert min(picture.getpixel((35, 20))) > 235


def test_a_jpeg_of_printing_inks_becomes_an_ordinary_one() -> None:
    inks = Image.new("CMYK", (40, 40), (0, 255, 255, 0))
    dot = shown(prepare(saved(inks, "JPEG"))).getpixel((20, 20))
    assert dot[0] > 150
    assert max(dot[1:]) < 90


def test_colours_of_another_profile_are_converted_before_it_is_dropped() -> None:
    """In the profile used here the first two colours are changed for one another."""
    swapped = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    plain = saved(two_halves(), "PNG")
    odd = saved(two_halves(), "PNG", icc_profile=swapped)
    assert prepare(odd).jpeg == prepare(plain).jpeg, "one that does not fit is left out"
    fits = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    same = shown(prepare(saved(two_halves(), "PNG", icc_profile=fits))).getpixel((5, 20))
    assert like(same, RED)


def test_the_second_picture_that_phones_add_is_dropped() -> None:
    both = saved(two_halves(), "MPO", save_all=True, append_images=[Image.new("RGB", (64, 48))])
    assert like(shown(prepare(both)).getpixel((10, 24)), RED)


def test_a_film_behind_the_picture_is_dropped() -> None:
    film = b"\0\0\0\x18ftypmp42" + b"\1" * 5000
    ready = prepare(camera_jpeg() + film)
    assert b"ftyp" not in ready.jpeg


def test_twelve_million_dots_stay_within_a_tablet_servers_memory() -> None:
    """A camera's JPEG is decoded at a fraction: the process grows by less than 60 MB."""
    grown = subprocess.run(
        [sys.executable, "-c", GROWTH],
        cwd=ROOT,
        input=saved(noisy((4000, 3000)), "JPEG", quality=90),
        capture_output=True,
        check=True,
    )
    assert float(grown.stdout) < 60


GROWTH = """
import resource, sys
from installs.photos.prepare import prepare
from tests.factories.pictures import camera_jpeg
prepare(camera_jpeg())
data = sys.stdin.buffer.read()
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
prepare(data)
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024)
"""
