"""What holds for every template and script, whoever wrote it."""

import re
from pathlib import Path

import pytest
from django.template.loader import get_template

ROOT = Path(__file__).parents[2]
TEMPLATES = ROOT / "templates"
STATIC = ROOT / "shop" / "static" / "shop"
# Mail and papers are read by other programs, which know no stylesheet of ours.
PAGES = [
    path
    for path in sorted(TEMPLATES.rglob("*.html"))
    if path.relative_to(TEMPLATES).parts[0] not in {"mail", "paper"}
]
PARTS = sorted((TEMPLATES / "parts").glob("*.html"))
SYMBOLS = (TEMPLATES / "parts" / "symbols.html").read_text()


def name(path: Path) -> str:
    return str(path.relative_to(TEMPLATES))


@pytest.mark.parametrize("path", PAGES, ids=name)
def test_the_template_can_be_read(path: Path) -> None:
    assert get_template(name(path))


@pytest.mark.parametrize("path", PAGES, ids=name)
def test_nothing_in_it_breaks_the_content_policy(path: Path) -> None:
    text = path.read_text()
    assert not re.search(r"<[^>]*\sstyle\s*=", text), "an inline style"
    assert "<style" not in text
    assert not re.search(r"<[^>]*\son\w+\s*=", text), "an inline handler"
    assert "hx-on" not in text
    assert "javascript:" not in text
    for tag in re.findall(r"<script[^>]*>", text):
        assert "src=" in tag, "an inline script"
    assert not re.search(r"""(src|href|action)=["'](https?:)?//""", text), "another host"


@pytest.mark.parametrize("path", PAGES, ids=name)
def test_a_shape_never_stands_alone(path: Path) -> None:
    """Hidden from screen readers, drawn by a symbol that exists, and a word in the same element."""
    text = path.read_text()
    for symbol in re.findall(r'href="#s-([\w-]+)"', text):
        assert f'id="s-{symbol}"' in SYMBOLS
    for svg in re.findall(r"<svg[^>]*>\s*<use", text):
        assert 'aria-hidden="true"' in svg
    for before, after in re.findall(r"(.*)<svg[^>]*>\s*<use[^>]*/></svg>(.*)", text):
        words = re.sub(r"<[^>]*>|\s", "", before + after)
        assert words, "a shape without a word"


@pytest.mark.parametrize("path", PARTS, ids=name)
def test_a_part_says_what_it_needs(path: Path) -> None:
    opening = path.read_text().split("{% endcomment %}")[0]
    assert "{% comment %}" in opening
    assert "ontext" in opening, "no word on its context"


@pytest.mark.parametrize("path", sorted(STATIC.rglob("*.css")), ids=lambda path: path.name)
def test_a_stylesheet_fetches_nothing(path: Path) -> None:
    text = path.read_text()
    assert "url(" not in text
    assert "@import" not in text


@pytest.mark.parametrize("path", sorted(STATIC.rglob("*.js")), ids=lambda path: path.name)
def test_a_script_makes_no_code_out_of_text(path: Path) -> None:
    text = path.read_text()
    for way in ("eval(", "new Function", "innerHTML", "outerHTML", "insertAdjacentHTML", "import"):
        assert way not in text
