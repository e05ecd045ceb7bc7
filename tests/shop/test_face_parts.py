"""The parts of a page: what they must say, and what they must never say."""

import re
from typing import Any

import pytest
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.test import Client, RequestFactory

from tests.factories import face


def part(name: str, request: HttpRequest | None = None, **context: Any) -> str:
    html = render_to_string(f"parts/{name}.html", context, request)
    return re.sub(r"\s+", " ", html)


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


@pytest.mark.parametrize(
    ("kind", "said"),
    [("good", "Proven"), ("stale", "Stale"), ("never", "Not proven"), ("", "Unknown"),
     ("GOOD", "Unknown"), ("fine", "Unknown")],
)  # fmt: skip
def test_a_proof_is_proven_only_where_it_says_so(kind: str, said: str) -> None:
    html = part("proof_stamp", proof={"kind": kind, "lines": ["since 3 Nov 2026"]})
    assert f"<strong>{said}</strong>" in html
    assert "since 3 Nov 2026" in html


@pytest.mark.parametrize(
    ("verdict", "said"),
    [("allowed", "allowed"), ("not_allowed", "not allowed"), ("", "not established"),
     ("not_established", "not established"), ("perhaps", "not established")],
)  # fmt: skip
def test_towing_is_allowed_only_where_a_source_says_so(verdict: str, said: str) -> None:
    html = part("procedure", procedure={"verdict": verdict})
    assert f"<strong>{said}</strong>" in html
    assert "Source: none recorded" in html


def test_steps_keep_their_numbers_and_their_cautions() -> None:
    html = part("procedure", procedure=face.procedure())
    assert '<li value="5"><p>Pull fuse F08</p>' in html
    assert "<b>WARNING</b></span> <span>It rolls.</span>" in html
    assert "This is what somebody said" in html


def test_no_finding_is_not_praised() -> None:
    assert words(part("findings", findings=[])) == (
        "Nothing was found in what is recorded. What nobody recorded cannot be found."
    )


def test_a_finding_says_why_and_how_to_cure_it() -> None:
    html = part("findings", findings=face.findings())
    said = words(html)
    assert "WARNING blocks sign-off The brake unit has no supply while towed." in said
    assert "Cure: An outlet from F27. Nothing else dies." in said
    assert "Measure: ohms to battery negative, disconnect open." in said


def test_a_pulled_fuse_says_pull_and_in_which_step() -> None:
    html = part("fuse_box", box=face.fuse_box())
    cells = re.findall(r"<td[^>]*>.*?</td>", html)
    assert [words(cell) for cell in cells[:4]] == [
        "F07 15 A mini",
        "F08 7.5 A mini PULL step 5",
        "",
        "F09 ? A mini feed ? , nobody measured it",
    ]
    assert 'class="out"' in cells[1]
    assert words(cells[4]) == "F21 15 A mini tapped, load"
    assert "<input" not in html


def test_what_if_ticks_are_sent_under_their_name() -> None:
    html = part("fuse_box", box=face.fuse_box(), what_if="out")
    assert re.findall(r'name="out" value="(\w+)"( checked)?', html) == [
        ("F07", ""), ("F08", " checked"), ("F09", ""), ("F21", ""),
    ]  # fmt: skip


def test_the_way_there_is_an_ordered_list_with_its_break() -> None:
    html = part("feed_table", feeds=face.feeds()[:1])
    assert html.count("<ol") == len(face.STATES)
    assert '<li class="dead"><b class="fig">F08</b> <strong>break</strong>' in html
    assert "wants ON" in html


def test_a_way_that_nobody_recorded_says_so() -> None:
    assert "Nobody recorded how this is fed." in part("chain", links=[])
    strange = part("chain", links=[{"label": "30", "words": "", "status": "fine"}])
    assert 'class="doubt"' in strange


def test_an_empty_value_is_not_recorded_and_nought_is_a_value() -> None:
    said = words(part("facts", facts=face.page()["facts"]))
    assert said == "VIN 1M8GDM9AXKP042788 Gearbox not recorded Doors 0"


def test_late_is_said_and_not_only_coloured() -> None:
    said = words(part("due_list", dues=face.page()["dues"]))
    assert said == "now late Prove again rev 3 14 Dec 2026 Battery, load test"
    assert "Nothing is due." in part("due_list", dues=[])


def test_history_tells_before_and_after() -> None:
    said = words(part("history", events=face.page()["events"]))
    assert "3 Nov 2026, 09:20 Mara Tennant Procedure revised" in said
    assert "step 5 nothing → Pull fuse F08 Why: new edition" in said


def test_pages_keep_the_rest_of_the_question() -> None:
    request = RequestFactory().get("/?q=okafor&page=2")
    html = part("pagination", page=face.page()["page"], request=request)
    assert 'href="?q=okafor&amp;page=1"' in html
    assert 'href="?q=okafor&amp;page=3"' in html
    assert "Page 2 of 4" in words(html)


def test_text_from_people_stays_text() -> None:
    evil = "<img src=x>"
    html = part("history", events=[{"at": None, "who": evil, "words": evil, "why": evil}])
    html += part("finding", finding={"word": "WARNING", "title": evil, "why": evil})
    html += part("chain", links=[{"label": evil, "words": evil, "status": "live"}])
    assert evil not in html


@pytest.mark.django_db
def test_the_sign_in_page_has_its_frame(client: Client) -> None:
    html = client.get("/accounts/login/").content.decode()
    assert html.index('class="skip" href="#main"') < html.index("<header")
    assert '<main id="main"' in html
    assert "The makers' instructions come first." in html
    assert "&quot;allowEval&quot;" not in html
    assert '"allowEval": false' in html
    assert "sign up" not in html.lower()
    assert 'class="doors"' not in html
    assert 'type="search"' not in html


@pytest.mark.django_db
def test_sign_up_is_closed_in_our_words(client: Client) -> None:
    assert b"No sign-up here" in client.get("/accounts/signup/").content


@pytest.mark.django_db
def test_a_lost_address_is_told_calmly(client: Client) -> None:
    answer = client.get("/no/such/page/")
    assert answer.status_code == 404
    assert b"Nothing here" in answer.content


def test_the_broken_page_needs_no_context() -> None:
    html = render_to_string("500.html")
    assert "that is our fault" in html
    assert "makers' instructions" in html
    assert "{{" not in html
