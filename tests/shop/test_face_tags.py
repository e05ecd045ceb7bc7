"""The tags of the face: states, signal words, dates, the fuse grid, the doors."""

from datetime import UTC, date, datetime
from types import SimpleNamespace
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.test import Client, RequestFactory
from django.urls import include, path

from shop.templatetags import face


def drawn(source: str, **context: Any) -> str:
    """Render a snippet that has the tags loaded, white space folded."""
    html = engines["django"].from_string("{% load face %}" + source).render(context)
    return " ".join(html.split())


@pytest.mark.parametrize(
    ("value", "shape", "tone"),
    [
        ("ON", "on", "good"),
        ("OFF", "off", "bad"),
        ("TIMED", "timed", "doubt"),
        ("CONDITIONAL", "conditional", "doubt"),
        ("UNKNOWN", "unknown", "doubt"),
    ],
)
def test_each_state_has_its_word_and_its_shape(value: str, shape: str, tone: str) -> None:
    html = face.state(value)
    assert f"<b>{value}</b>" in html
    assert f'href="#s-{shape}"' in html
    assert f'class="word {tone}"' in html


def test_no_two_states_share_a_shape() -> None:
    assert len(set(face.SHAPES.values())) == len(face.SHAPES) == 5


@pytest.mark.parametrize("value", ["UNKNOWN", "", None, "GOOD", "unknown"])
@pytest.mark.parametrize("verdict", ["good", "plain", "bad", ""])
def test_unknown_is_never_shown_as_good(value: object, verdict: str) -> None:
    html = face.state(value, "", verdict)
    assert "<b>UNKNOWN</b>" in html
    assert 'class="word doubt"' in html


def test_off_is_good_where_off_is_wanted() -> None:
    assert 'class="word good"' in face.state("OFF", "", "good")


def test_the_words_follow_the_word_once() -> None:
    html = face.state("TIMED", "TIMED, until 20 min after key-off")
    assert '<b>TIMED</b> <span class="more">until 20 min after key-off</span>' in html


def test_typed_text_stays_text() -> None:
    assert "<script>" not in face.state("ON", "<script>alert(1)</script>")
    assert "<b>" not in face.plate("<b>QZ</b>")
    assert "<i>" not in drawn("{% card title %}x{% endcard %}", title="<i>")


@pytest.mark.parametrize(
    ("word", "triangle"),
    [("DANGER", True), ("WARNING", True), ("CAUTION", True), ("NOTICE", False)],
)
def test_the_alert_triangle_marks_harm_to_people_only(word: str, triangle: bool) -> None:
    """ANSI Z535.4: a NOTICE speaks of practices without injury and has no alert symbol."""
    html = face.signal(word)
    assert f"<b>{word}</b>" in html
    assert ("s-alert" in html) is triangle


def test_no_other_signal_word() -> None:
    with pytest.raises(ValueError, match="ATTENTION"):
        face.signal("ATTENTION")


def test_a_date_and_an_instant_are_time_elements(settings: Any) -> None:
    assert settings.TIME_ZONE == "America/Denver"
    late = datetime(2026, 12, 15, 3, 5, tzinfo=UTC)
    assert drawn("{{ d|day }}", d=date(2026, 3, 4)) == (
        '<time datetime="2026-03-04">4 Mar 2026</time>'
    )
    assert drawn("{{ at|moment }}", at=late) == (
        '<time datetime="2026-12-14T20:05:00-07:00">14 Dec 2026, 20:05</time>'
    )


def test_what_is_not_recorded_says_so() -> None:
    assert "no date" in face.day(None)
    assert "no time" in face.moment(None)
    assert "no plate recorded" in face.plate("")


def ids(positions: list[dict[str, Any]]) -> list[list[str | None]]:
    return [[fuse and fuse["id"] for fuse in row] for row in face.fuse_rows(positions)]


def fuse(name: str, row: int | None = None, col: int | None = None) -> dict[str, Any]:
    return {"id": name, "row": row, "col": col}


def test_fuses_stand_where_they_stand_in_the_box() -> None:
    box = [fuse("F3", 2, 1), fuse("F1", 1, 1), fuse("F2", 1, 3)]
    assert ids(box) == [["F1", None, "F2"], ["F3", None, None]]


def test_a_fuse_without_a_place_is_shown_all_the_same() -> None:
    assert ids([fuse("F1", 1, 2), fuse("F9"), fuse("F8", 1)]) == [[None, "F1"], ["F9", "F8"]]
    assert ids([fuse(f"F{n}") for n in range(8)])[1][:3] == ["F6", "F7", None]


def test_two_fuses_on_one_place_are_both_shown() -> None:
    assert ids([fuse("F1", 1, 1), fuse("F2", 1, 1)]) == [["F1"], ["F2"]]


def test_no_fuse_no_row() -> None:
    assert ids([]) == []


@pytest.mark.parametrize(
    ("query", "link", "sorted_as"),
    [
        ("q=ok&page=3", "q=ok&amp;sort=name", ""),
        ("sort=name", "sort=-name", "ascending"),
        ("sort=-name", "sort=name", "descending"),
    ],
)
def test_a_heading_sorts_and_says_how(query: str, link: str, sorted_as: str) -> None:
    request = RequestFactory().get(f"/list?{query}")
    html = drawn('{% sort_heading "Name" "name" %}', request=request)
    assert f'href="?{link}"' in html
    assert ("aria-sort" in html) is bool(sorted_as)
    assert sorted_as in html


def answer(_request: HttpRequest) -> HttpResponse:
    return HttpResponse("here")


urlpatterns = [
    path("desk/", include(([path("", answer, name="today")], "desk"))),
    path("office/", include(([path("", answer, name="home")], "office"))),
]


@pytest.mark.urls("tests.shop.test_face_tags")
@pytest.mark.parametrize(
    ("role", "open_doors"),
    [("owner", ["Desk", "Office"]), ("technician", ["Desk"]), ("desk", ["Desk"]), ("", [])],
)
def test_only_the_doors_that_exist_and_are_ones_own(role: str, open_doors: list[str]) -> None:
    """Nothing answers for the bay here, so nobody is shown its door."""
    request = RequestFactory().get("/office/")
    request.user = SimpleNamespace(role=role)
    request.resolver_match = SimpleNamespace(namespace="office")
    doors = face.doors({"request": request})
    assert [door["label"] for door in doors] == open_doors
    assert [door["label"] for door in doors if door["current"]] == open_doors[1:]


def choose(client: Client, theme: str, back: str = "/accounts/login/") -> HttpResponse:
    return client.post("/theme/", {"theme": theme, "next": back})


@pytest.mark.django_db
def test_the_theme_is_kept_in_a_cookie_and_given_back(client: Client) -> None:
    answer = choose(client, "dark")
    assert answer.status_code == 302
    assert answer["Location"] == "/accounts/login/"
    assert answer.cookies["theme"]["httponly"]
    assert b'<html lang="en" data-theme="dark">' in client.get("/accounts/login/").content
    choose(client, "system")
    assert b'<html lang="en">' in client.get("/accounts/login/").content


@pytest.mark.parametrize("theme", ["purple", '"><script>', ""])
def test_an_unknown_theme_is_no_theme(client: Client, theme: str) -> None:
    assert choose(client, theme).cookies["theme"].value == ""
    request = RequestFactory().get("/")
    request.COOKIES["theme"] = theme
    assert face.theme({"request": request}) == ""


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example", "x:y"])
def test_the_way_back_stays_in_the_house(client: Client, back: str) -> None:
    assert choose(client, "dark", back)["Location"] == "/"


def test_the_theme_is_set_by_post_only(client: Client) -> None:
    assert client.get("/theme/").status_code == 405
