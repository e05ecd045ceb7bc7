"""What documents need of the machine is found, or asked for in one sentence."""

from pathlib import Path

import pytest

from shop.management import system

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def fonts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(system, "FONT_FOLDERS", (str(tmp_path), str(tmp_path / "none")))
    monkeypatch.setattr(system.sys, "platform", "linux")
    return tmp_path


def test_one_font_is_a_font_and_not_every_script(fonts: Path) -> None:
    assert not system.has_fonts()
    (fonts / "DejaVuSans.ttf").touch()
    assert system.has_fonts()
    assert not system.has_every_script()
    for name in ("NotoSansArabic-Regular.ttf", "NotoSansCJK-Regular.ttc", "NotoColorEmoji.ttf"):
        (fonts / name).touch()
    assert system.has_every_script()


def test_what_is_missing_is_named_with_the_way_to_get_it(
    fonts: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr(system, "apt_install", asked.append)
    sentence = system.missing_for_documents()
    assert asked == [system.APT]
    assert "a font, the fonts of every script" in sentence
    assert "fonts-noto-cjk" in sentence


@pytest.mark.parametrize("file", ["Dockerfile", ".ci/run", "README.md"])
def test_every_place_that_installs_names_the_same_packages(file: str) -> None:
    text = (ROOT / file).read_text()
    assert [package for package in system.APT if package not in text] == []
