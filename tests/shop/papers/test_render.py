"""A paper loads only its own files, prints any script, and can be read by who cannot see it."""

import logging
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.template import engines
from pypdf import PdfReader

from shop.papers import render as press
from shop.papers.render import PaperError, PaperSize, render, shop_size
from tests.factories.pdf import words_of_pdf
from tests.factories.pictures import saved, two_halves

HEAD = '{% extends "paper/base.html" %}{% load paper %}{% block title %}Proof sheet{% endblock %}'


@pytest.fixture
def paper(monkeypatch: pytest.MonkeyPatch) -> Callable[..., bytes]:
    """Return a maker of papers with this content."""

    def make(content: str, size: PaperSize = PaperSize.A4, **told: Any) -> bytes:
        text = f"{HEAD}{{% block content %}}{content}{{% endblock %}}"
        template = engines["django"].from_string(text)
        monkeypatch.setattr(press, "get_template", lambda _: template)
        context = {"record": "record 7", "hash": "ab12" * 16, **told.pop("context", {})}
        return render("made-up.html", context, size=size, **told)

    return make


# Points of 1/72 inch: ISO 216 A4 is 210 x 297 mm; US Letter is 8.5 x 11 in (both from memory).
@pytest.mark.parametrize(
    ("size", "points"), [(PaperSize.A4, (595.28, 841.89)), (PaperSize.LETTER, (612, 792))]
)
def test_a_paper_has_the_size_asked_for(
    paper: Callable[..., bytes], size: PaperSize, points: tuple[float, float]
) -> None:
    box = PdfReader(BytesIO(paper("<p>x</p>", size))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(points, abs=0.1)


def test_the_shop_says_which_paper_is_in_its_printer(settings: Any) -> None:
    assert shop_size() is PaperSize.LETTER
    settings.SHOP_PAPER = "a4"
    assert shop_size() is PaperSize.A4


def test_each_page_carries_its_number_record_and_hash(paper: Callable[..., bytes]) -> None:
    pages = PdfReader(BytesIO(paper("<p>line</p>" * 250))).pages
    assert len(pages) > 2
    for number, page in enumerate(pages, 1):
        text = " ".join(page.extract_text().split())
        assert f"{number} of {len(pages)}" in text
        assert "record 7" in text
        assert "content ab12ab12ab12ab12" in text


def test_a_paper_says_title_and_language_and_is_tagged(paper: Callable[..., bytes]) -> None:
    """ISO 14289-1 (PDF/UA-1) asks for these (from memory)."""
    reader = PdfReader(BytesIO(paper("<h2>Part</h2><p>x</p>")))
    root = reader.trailer["/Root"]
    assert reader.metadata.title == "Proof sheet"
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid" in reader.xmp_metadata.stream.get_data()


SCRIPTS = [
    "Łukasz Ñandú 李",
    "Žofie Ångström-Đorđević ß",
    "Ελένη Παπαδοπούλου",
    "Юлія Ґжицька",
    "山田太郎 やまだ ヤマダ",
    "김철수",
    "ไพศาล",
    "अनिता",
    "Nguyễn Thị Hạnh",
    "12 Ω ± 0.5 °C → 5 × 7.5 A – “fuse” ½ № ✓",
]
EMOJI = "hold 👍 ⚠️ 🔧"
ARABIC = "افحص المصابيح قبل القيادة"
HEBREW = "לבדוק את הפנסים"


@pytest.mark.parametrize("text", [*SCRIPTS, ARABIC, HEBREW, EMOJI])
def test_any_script_prints_without_boxes(
    paper: Callable[..., bytes], text: str, caplog: pytest.LogCaptureFixture
) -> None:
    """The maker of PDFs warns of each character that no font of this machine can draw."""
    with caplog.at_level(logging.WARNING, "weasyprint"):
        paper("<h1>{{ text }}</h1><p class='fig'>{{ text }}</p>", context={"text": text})
    assert [record.message for record in caplog.records if "notdef" in record.message] == []


def test_a_character_without_a_font_would_be_noticed(
    paper: Callable[..., bytes], caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING, "weasyprint"):
        paper("<p>\U0010fffd</p>")
    assert any("notdef" in record.message for record in caplog.records)


# What a reader of PDFs gives back in one piece; in other scripts it parts letters and vowel signs.
@pytest.mark.parametrize("text", SCRIPTS[:6] + SCRIPTS[8:])
def test_text_copied_from_the_paper_is_what_was_written(
    paper: Callable[..., bytes], text: str
) -> None:
    assert text in words_of_pdf(paper("<p>{{ text }}</p>", context={"text": text}))


@pytest.mark.parametrize("text", [ARABIC, HEBREW])
def test_a_right_to_left_line_runs_from_the_right(paper: Callable[..., bytes], text: str) -> None:
    """Its first letter stands right of its last one, and the line ends at the right edge."""
    pdf = paper('<p dir="{{ text|direction }}">{{ text }}</p>', context={"text": text})
    at: dict[str, float] = {}

    def seen(part: str, _: Any, place: Any, *__: Any) -> None:
        if any("\u0590" <= sign <= "\u06ff" for sign in part):
            at[part] = place[4]

    PdfReader(BytesIO(pdf)).pages[0].extract_text(visitor_text=seen)
    assert min(at.values(), default=0) > 300, "of 595 points"


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/hostname",
        "http://192.0.2.1/x.png",
        "https://shop.example/x.png",
        "data:image/png;base64,AAAA",
        "static:../settings.py",
        "static:shop/none.svg",
        "picture:other",
        "/etc/hostname",
        "//192.0.2.1/x.png",
    ],
)
def test_a_paper_loads_nothing_but_its_own(paper: Callable[..., bytes], address: str) -> None:
    with pytest.raises(PaperError, match="made-up"):
        paper(f'<img src="{address}" alt="x">', pictures={"one": b""})


def test_a_style_cannot_reach_out_either(paper: Callable[..., bytes]) -> None:
    with pytest.raises(PaperError):
        paper('<p style="background: url(file:///etc/hostname)">x</p>')


def test_our_own_files_and_the_papers_pictures_are_shown(
    paper: Callable[..., bytes], tmp_path: Path
) -> None:
    photo = saved(two_halves(), "JPEG")
    (tmp_path / "photo.jpg").write_bytes(photo)
    pdf = paper(
        '<img src="static:shop/icon.svg" alt="">'
        '<img src="picture:a" alt="a"><img src="picture:b" alt="b">',
        pictures={"a": tmp_path / "photo.jpg", "b": saved(two_halves((30, 20)), "JPEG")},
    )
    assert len(PdfReader(BytesIO(pdf)).pages[0].images) == 2


def test_what_a_person_typed_is_never_markup(paper: Callable[..., bytes]) -> None:
    text = '<img src="file:///etc/hostname"> <b>'
    assert '<img src="file:///etc/hostname"> <b>' in words_of_pdf(
        paper("<p>{{ text }}</p>", context={"text": text})
    )
