"""The palette carries its words in light and in dark.

Formula and limits: WCAG 2.2, definitions of relative luminance and contrast ratio, success
criteria 1.4.3 (text 4.5:1) and 1.4.11 (parts of controls and drawings 3:1). From memory; that
white on black gives 21:1 and #767676 on white passes by a hair are the well-known check values.
"""

import re
from itertools import product
from pathlib import Path

import pytest

CSS = Path(__file__).parents[2] / "shop" / "static" / "shop" / "css"
PAIR = re.compile(r"--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)")
SCHEMES = ("light", "dark")

PAPERS = ("paper", "card", "sunk")
WORDS = [
    *product(("ink", "soft"), PAPERS),
    *product(("on", "off", "doubt", "mark", "note"), ("paper", "card")),
    *[(hue, f"{hue}-wash") for hue in ("on", "off", "doubt", "mark", "note")],
    *product(("ink", "soft"), ("on-wash", "off-wash", "doubt-wash", "mark-wash", "note-wash")),
]
# The edge of a field or of a fuse, the ring of the focus, the bar of a finding.
SHAPES = [*product(("rule-strong", "mark", "off", "doubt", "note"), ("paper", "card"))]


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, two: str) -> float:
    """Contrast ratio of two colours, 1 to 21."""
    lighter, darker = sorted((luminance(one), luminance(two)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.fixture(scope="module")
def tokens() -> dict[str, dict[str, str]]:
    """The colours of tokens.css by scheme and name."""
    found = PAIR.findall((CSS / "tokens.css").read_text())
    return {
        "light": {name: light for name, light, _ in found},
        "dark": {name: dark for name, _, dark in found},
    }


def test_the_formula_gives_the_known_values() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert 4.5 <= contrast("#767676", "#ffffff") < 4.6
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("word", "ground"), WORDS)
def test_words_stand_out(
    tokens: dict[str, dict[str, str]], scheme: str, word: str, ground: str
) -> None:
    assert contrast(tokens[scheme][word], tokens[scheme][ground]) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("shape", "ground"), SHAPES)
def test_edges_and_shapes_stand_out(
    tokens: dict[str, dict[str, str]], scheme: str, shape: str, ground: str
) -> None:
    assert contrast(tokens[scheme][shape], tokens[scheme][ground]) >= 3


@pytest.mark.parametrize("scheme", SCHEMES)
def test_a_dark_button_reads(tokens: dict[str, dict[str, str]], scheme: str) -> None:
    assert contrast(tokens[scheme]["paper"], tokens[scheme]["ink"]) >= 4.5


def test_every_colour_is_a_token() -> None:
    """A colour of its own in another sheet would escape the checks above and the dark scheme."""
    for sheet in CSS.glob("*.css"):
        if sheet.name != "tokens.css":
            own = set(re.findall(r"(?<![\w&])#[0-9a-f]{3,8}\b", sheet.read_text()))
            assert own <= {"#fff"}, f"{sheet.name}: {own}"


def test_every_token_that_is_used_exists() -> None:
    text = "".join(sheet.read_text() for sheet in CSS.glob("*.css"))
    defined = set(re.findall(r"(--[\w-]+):", text))
    assert set(re.findall(r"var\((--[\w-]+)", text)) <= defined


def test_each_sheet_stays_in_its_layers() -> None:
    order = (CSS / "tokens.css").read_text().split("@layer ", 1)[1].split(";")[0]
    layers = {name.strip() for name in order.split(",")}
    for sheet in CSS.glob("*.css"):
        named = set(re.findall(r"^@layer (\w+) \{", sheet.read_text(), re.MULTILINE))
        assert named, sheet.name
        assert named <= layers
