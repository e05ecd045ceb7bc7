"""What a digest says, in which language, under which subject."""

from dataclasses import replace
from datetime import date

import pytest
from django.utils import translation

from shop.reminders.services import digest as subject_under_test
from shop.reminders.services.digest import (
    Digest,
    ItemWords,
    VehicleWords,
    digest_headers,
    subject_of,
    write_digest,
)

ITEM = ItemWords(
    vehicle_id=1,
    vehicle="2021 Larkspur Fjord",
    plate="QC 1001",
    what="Load test of the <battery> & cable",
    why="It ages.",
    todo="Come by.",
    reason="12 months after it was first fitted on 1 March 2025",
    due_on=date(2026, 3, 1),
    risk=2,
)
DIGEST = Digest(
    customer_id=7,
    name="Wren Alder",
    called="",
    language="en",
    address="wren@mail.example",
    stop_url="https://shop.example/stop/token/",
    category="service",
    day=date(2026, 2, 1),
    items=[ITEM],
)


@pytest.fixture(autouse=True)
def shop(settings):
    settings.SHOP_URL = "https://shop.example"
    settings.SHOP_NAME = "Quill Creek Tow & Coach"


def test_it_says_what_is_due_why_it_matters_what_to_do_and_whose_word_comes_first(settings):
    written = write_digest(DIGEST)
    for part in (
        "Dear Wren Alder,",
        "2021 Larkspur Fjord (QC 1001)",
        "* Load test of the <battery> & cable",
        "Due on 1 March 2026: 12 months after it was first fitted on 1 March 2025.",
        "Why it matters: It ages.",
        "What to do: Come by.",
        "makers' instructions",
        settings.SHOP_NAME,
        settings.SHOP_POSTAL_ADDRESS,
        settings.SHOP_PHONE,
        "https://shop.example/stop/",
    ):
        assert part in written.text
    assert "Load test of the &lt;battery&gt; &amp; cable" in written.html
    assert "https://shop.example/stop/" in written.html


def test_nothing_is_fetched_from_anywhere_when_it_is_read():
    html = write_digest(DIGEST).html
    for fetched in ("<img", "<link", "<script", "url(", "@import", " src=", "style="):
        assert fetched not in html


def test_overdue_and_safety_are_worded_as_what_they_are():
    late = write_digest(replace(DIGEST, day=date(2026, 4, 1)))
    assert "Was due on 1 March 2026" in late.text
    changed = replace(
        ITEM,
        reason="the tow procedure has a new revision (1 March 2026)",
        differences=("F12 is now pulled.", "The key stands at ACC."),
        when="news",
    )
    safety = write_digest(replace(DIGEST, category="safety", items=[changed]))
    assert "\n  The tow procedure has a new revision (1 March 2026).\n" in safety.text
    assert "What is different:\n  - F12 is now pulled.\n  - The key stands at ACC.\n" in safety.text
    assert "<li>F12 is now pulled.</li>" in safety.html
    assert "cannot be switched off" in safety.text


@pytest.mark.parametrize("language", ["es", "es-mx", "klingon", ""])
def test_the_customers_language_is_active_while_writing(monkeypatch, settings, language):
    settings.LANGUAGES = [("en-us", "English"), ("es", "Spanish")]
    seen = []
    real = subject_under_test.get_template

    def spy(name):
        seen.append(translation.get_language())
        return real(name)

    monkeypatch.setattr(subject_under_test, "get_template", spy)
    html = write_digest(replace(DIGEST, language=language)).html
    expected = "es" if language.startswith("es") else "en-us"
    assert set(seen) == {expected}
    assert f'<html lang="{expected}">' in html
    assert translation.get_language() == "en-us"


@pytest.mark.parametrize("safety", [True, False])
@pytest.mark.parametrize("shop", ["Oak", "Quill Creek Tow & Coach", "S" * 90, "Very long " * 9])
@pytest.mark.parametrize("names", [["Fjord"], ["2021 Larkspur Fjord"], ["V" * 90], ["a", "b"]])
def test_the_subject_is_short_and_names_vehicle_and_shop(settings, shop, names, safety):
    settings.SHOP_NAME = shop
    vehicles = [VehicleWords(name, "", ()) for name in names]
    subject = subject_of(vehicles, safety=safety)
    assert len(subject) < 60
    assert shop[:3] in subject
    assert (names[0][:5] if len(names) == 1 else "2 vehicles") in subject


def test_without_https_no_one_click_is_promised(settings):
    headers = digest_headers(replace(DIGEST, stop_url="http://localhost:8000/stop/token/"))
    assert "List-Unsubscribe-Post" not in headers
    assert headers["List-Unsubscribe"].startswith("<http://localhost:8000/stop/")


def test_a_shop_name_beyond_ascii_leaves_only_the_number_of_the_list(settings):
    settings.SHOP_NAME = "Köhler Tow"
    headers = digest_headers(DIGEST)
    assert headers["List-Id"] == "<service.quillcreek.example>"
