"""Rewiring by form: what was measured at the old feed is not known of the new one."""

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Fitting
from tests.factories.desk import a_crestline
from tests.factories.paper import fill_in, sent_back, words_of

MEASURED = {"feed": "fuse:F21", "ground": "body", "known": "measured"}
REFUSED = "Feed or ground changed: what was known of the old one does not hold"


@pytest.fixture
def fitting(db: None) -> Fitting:
    """A transmitter whose feed was measured."""
    found = a_crestline().fittings.get(component__kind__slug="transmitter")
    Fitting.objects.filter(pk=found.pk).update(ports={"supply": MEASURED})
    return Fitting.objects.get(pk=found.pk)


def change(fitting: Fitting) -> str:
    return reverse("desk:fitting_change", args=[fitting.pk])


def supply(fitting: Fitting) -> dict[str, object]:
    return Fitting.objects.get(pk=fitting.pk).ports["supply"]


@pytest.mark.parametrize("typed", [{"supply__feed": "fuse:F22"}, {"supply__ground": "unknown"}])
def test_a_measured_feed_does_not_stay_measured_when_it_changes(
    technician: Client, fitting: Fitting, typed: dict[str, str]
) -> None:
    answer = fill_in(technician, change(fitting), **typed, why="re-tapped")
    assert REFUSED in words_of(answer)
    assert sent_back(answer)["supply__known"] == ["assumed"]
    assert [sent_back(answer)[name] for name in typed] == [[value] for value in typed.values()]
    assert supply(fitting) == MEASURED


@pytest.mark.parametrize("chosen", ["measured", "document", "assumed"])
def test_whoever_chooses_again_is_believed(
    technician: Client, fitting: Fitting, chosen: str
) -> None:
    url = change(fitting)
    answer = fill_in(technician, url, supply__feed="fuse:F22", why="re-tapped")
    again = technician.post(url, {**sent_back(answer), "supply__known": chosen})
    assert again.status_code == 302
    assert supply(fitting) == {"feed": "fuse:F22", "ground": "body", "known": chosen}


def test_another_answer_at_once_is_believed(technician: Client, fitting: Fitting) -> None:
    typed = {"supply__feed": "fuse:F22", "supply__known": "document", "why": "re-tapped"}
    assert fill_in(technician, change(fitting), **typed).status_code == 302
    assert supply(fitting)["known"] == "document"


def test_a_rewire_needs_its_reason(technician: Client, fitting: Fitting) -> None:
    typed = {"supply__feed": "fuse:F22", "supply__known": "document"}
    answer = fill_in(technician, change(fitting), **typed)
    assert "Why: Say why feed or ground changed" in words_of(answer)
    assert supply(fitting) == MEASURED


def test_what_is_no_rewire_asks_neither(technician: Client, fitting: Fitting) -> None:
    assert fill_in(technician, change(fitting), place="moved up").status_code == 302
    assert supply(fitting) == MEASURED
    Fitting.objects.filter(pk=fitting.pk).update(ports={})
    typed = {"supply__feed": "fuse:F22", "supply__known": "measured"}
    assert fill_in(technician, change(fitting), **typed).status_code == 302
    assert supply(fitting)["feed"] == "fuse:F22"
