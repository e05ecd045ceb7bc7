"""The pieces that papers are made of: cautions, findings, photos with their marks, signatures."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.template import engines
from PIL import Image
from pypdf import PdfReader

from shop.papers import render as press
from shop.papers.render import PaperSize, render
from tests.factories.pdf import painted, words_of_pdf
from tests.factories.pictures import saved


@pytest.fixture
def piece(monkeypatch: pytest.MonkeyPatch) -> Callable[..., bytes]:
    """Return a maker of a paper that holds one piece."""

    def make(name: str, pictures: dict[str, bytes] | None = None, **told: Any) -> bytes:
        text = (
            '{% extends "paper/base.html" %}{% block title %}Piece{% endblock %}'
            f'{{% block content %}}{{% include "paper/parts/{name}.html" %}}{{% endblock %}}'
        )
        template = engines["django"].from_string(text)
        monkeypatch.setattr(press, "get_template", lambda _: template)
        return render("piece", {"record": "r", **told}, size=PaperSize.A4, pictures=pictures)

    return make


# The words are those of ANSI Z535.4 (read on a label maker's page); the alert triangle stands
# before all but NOTICE.
@pytest.mark.parametrize("word", ["DANGER", "WARNING", "CAUTION", "NOTICE"])
def test_a_caution_is_told_by_its_word(piece: Callable[..., bytes], word: str) -> None:
    text = words_of_pdf(piece("caution", word=word, text="It can roll.", points=["Chock it."]))
    assert text.startswith(f"{word} It can roll.")
    assert "Chock it." in text


def test_cautions_differ_in_grey_without_their_words(
    piece: Callable[..., bytes], tmp_path: Path
) -> None:
    """Ink in the same strip of the page: black, black in a heavier frame, white with or without."""
    ink = {}
    for word in ("DANGER", "WARNING", "CAUTION", "NOTICE"):
        folder = tmp_path / word
        folder.mkdir()
        (page,) = painted(piece("caution", word=word, text="x"), folder, 72)
        strip = page.crop((39, 0, 100, 100))
        ink[word] = sum(255 - dot for dot in strip.tobytes())
    assert ink["DANGER"] > ink["WARNING"] > ink["CAUTION"] > ink["NOTICE"]


def test_findings_keep_their_reason_and_outcome(piece: Callable[..., bytes]) -> None:
    told = [
        {"word": "WARNING", "title": "Brake unit dead", "why": "F08 is out.", "outcome": "cured"},
        {"word": "UNKNOWN", "title": "Ground not measured"},
    ]
    text = words_of_pdf(piece("findings", findings=told))
    for part in ("WARNING", "Brake unit dead", "F08 is out.", "cured", "UNKNOWN"):
        assert part in text
    assert "Nothing stood in the way." in words_of_pdf(piece("findings", findings=[]))


def test_a_fact_that_nobody_recorded_says_so(piece: Callable[..., bytes]) -> None:
    text = words_of_pdf(piece("facts", facts=[{"label": "Odometer", "value": ""}]))
    assert "Odometer not recorded" in text


def test_photos_carry_number_caption_and_marks(piece: Callable[..., bytes], tmp_path: Path) -> None:
    grey = saved(Image.new("RGB", (400, 300), (128, 128, 128)), "JPEG")
    photo = {
        "picture": "a",
        "width": 400,
        "height": 300,
        "caption": "Łukasz’s plate",
        "when": "9:05",
    }
    circle = {"shape": "circle", "at": [0.5, 0.5], "radius": 0.2}
    note = {"shape": "note", "at": [0.1, 0.9], "text": "ground here"}
    arrow = {"shape": "arrow", "from": [0.1, 0.1], "to": [0.4, 0.4]}

    bare = piece("photos", {"a": grey}, photos=[photo])
    drawn = piece("photos", {"a": grey}, photos=[{**photo, "marks": [circle, note, arrow]}])

    assert len(PdfReader(BytesIO(bare)).pages[0].images) == 1
    assert "1 Łukasz’s plate 9:05" in words_of_pdf(drawn)
    assert "ground here" in words_of_pdf(drawn)
    blacks = []
    for name, pdf in (("bare", bare), ("drawn", drawn)):
        (tmp_path / name).mkdir()
        (page,) = painted(pdf, tmp_path / name)
        photo_area = page.crop((90, 110, 400, 330)).tobytes()
        blacks.append(sum(dot < 60 for dot in photo_area))
    assert blacks[1] > blacks[0] + 300


def test_signatures_tell_drawn_typed_refused_and_still_open(piece: Callable[..., bytes]) -> None:
    stroke = saved(Image.new("RGB", (200, 60), "white"), "PNG")
    told = [
        {"role": "Technician", "name": "Teo Lindgard", "at": "25 Nov 2026, 14:02", "drawn": "s"},
        {"role": "Customer", "name": "Ines Okafor", "refused": "No time to read it"},
        {"role": "Second person"},
    ]
    pdf = piece("signatures", {"s": stroke}, signatures=told)
    text = words_of_pdf(pdf)
    for part in ("Technician Teo Lindgard, 25 Nov 2026, 14:02", "did not sign",
                 "No time to read it", "Second person"):  # fmt: skip
        assert part in text
    assert len(PdfReader(BytesIO(pdf)).pages[0].images) == 1
