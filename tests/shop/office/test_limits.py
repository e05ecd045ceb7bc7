"""Limits by form: listed with their sources, tried before they are put in force."""

import pytest
from django.test import Client

from installs.models import Fitting
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import LimitVersion

pytestmark = pytest.mark.django_db
LIST = "/office/limits/"
PORT = "/office/limits/port_volts/"
WHY = {"source": "the part's maker, edition 2025", "why": "read in its papers"}


def band(value: str, low: str = "", high: str = "", unit: str = "V") -> dict[str, str]:
    """What is typed for a quantity with its bounds."""
    ends = {"value": value, "low": low, "high": high}
    return {f"{n}_{at}": (t, unit)[at] for n, t in ends.items() for at in (0, 1)}


def test_every_limit_is_listed_with_its_source_and_memory_is_marked(owner: Client) -> None:
    shown = words_of(owner.get(LIST))
    assert "At the port of a part, at least 10.5 V" in shown
    assert "Building-wire practice: 60 °C column, small-conductor rule" in shown
    assert shown.count("From memory, confirm.") >= 5
    assert "Starting value." in shown


def test_a_limit_is_tried_first_and_then_put_in_force(owner: Client, proven: Fitting) -> None:
    answer = fill_in(owner, PORT, **band("14.5"), **WHY, look="yes")
    shown = words_of(answer)
    assert "Nothing is saved yet: 14.5 V" in shown
    assert "1 of 1 vehicle looked at would have other findings, 1 of them something" in shown
    assert not LimitVersion.objects.exists()

    owner.post(PORT, {**sent_back(answer), "save": "yes"})
    saved = LimitVersion.objects.get()
    assert saved.content == {"value": 14.5, "low": 14.5, "high": 14.5}
    assert saved.source == WHY["source"]
    assert "The part's maker, edition 2025. Set " in words_of(owner.get(LIST))


def test_a_limit_to_be_looked_at_again_says_so_once_the_day_has_come(owner: Client) -> None:
    fill_in(owner, PORT, **band("11"), **WHY, recheck_on="2030-01-01", save="yes")
    assert "Look at it again on 1 Jan 2030" in words_of(owner.get(LIST))
    LimitVersion.objects.update(recheck_on="2020-01-01")
    shown = words_of(owner.get(LIST))
    assert "Look at it again: since 1 Jan 2020" in shown
    assert "1 to be looked at again" in shown


def test_another_unit_is_taken_and_what_was_typed_comes_back(owner: Client) -> None:
    owner.get(PORT)
    fill_in(owner, PORT, **band("11000", unit="mV"), **WHY, save="yes")
    saved = LimitVersion.objects.get()
    assert saved.content["value"] == 11
    assert saved.typed == {"value": {"number": "11000", "unit": "mV"}}


def test_small_ohms_are_kept_as_they_were_typed(owner: Client) -> None:
    fill_in(
        owner, "/office/limits/contact_ohm/",
        **band("0.00125", "0.0004", "0.02", unit="ohm"), **WHY, save="yes",
    )  # fmt: skip
    assert LimitVersion.objects.get().content == {"value": 0.00125, "low": 0.0004, "high": 0.02}


@pytest.mark.parametrize(
    ("path", "typed", "sentence"),
    [
        (PORT, band("twelve"), "“twelve” is not a number"),
        (PORT, band("12 A"), "“A” is not a unit of voltage here"),
        (PORT, band("12", low="13"), "12 must lie between the bounds"),
        (PORT, band("0"), "it must be more than 0"),
        (PORT, {**band("12"), "source": ""}, "This field is required"),
        ("/office/limits/fuse_share/", {"value": "80"}, "a share lies above 0"),
        ("/office/limits/ampacity/", {"rows": "18 7"}, "write two numbers with a colon"),
        ("/office/limits/ampacity/", {"rows": "18: 7\n16: 10"}, "must rise from row to row"),
        ("/office/limits/ampacity/", {"rows": "16.5: 10\n18: 7"}, "a gauge is a whole number"),
        ("/office/limits/cable_rule/", {"choice": "neither"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_stays(
    owner: Client, path: str, typed: dict[str, str], sentence: str
) -> None:
    answer = fill_in(owner, path, **{**WHY, **typed}, save="yes")
    assert sentence.casefold() in words_of(answer).casefold()
    assert sent_back(answer)["why"] == [WHY["why"]]
    assert not LimitVersion.objects.exists()


def test_finer_ohms_than_the_unit_can_keep_are_never_rounded_silently(owner: Client) -> None:
    answer = fill_in(
        owner, "/office/limits/contact_ohm/", **band("1.25", unit="mohm"), **WHY, save="yes"
    )
    assert "Write it in Ω" in words_of(answer)
    assert not LimitVersion.objects.exists()


def test_a_table_and_a_choice_are_put_in_force(owner: Client) -> None:
    fill_in(owner, "/office/limits/ampacity/", rows="14: 20\n16: 13", **WHY, save="yes")
    fill_in(owner, "/office/limits/cable_rule/", choice="combined", **WHY, save="yes")
    now = LimitVersion.objects.in_force()
    assert now.ampacity() == {14: 20, 16: 13}
    assert now["cable_rule"].choice == "combined"


def test_two_owners_at_once_see_both_values(owner: Client) -> None:
    read = sent_back(owner.get(PORT))
    fill_in(owner, PORT, **band("11"), **WHY, save="yes")
    answer = owner.post(PORT, {**read, **band("12"), **WHY, "save": "yes"})
    assert "Somebody else changed this record" in words_of(answer)
    assert LimitVersion.objects.get().content["value"] == 11


def test_a_limit_that_is_not_there_is_not_found(owner: Client) -> None:
    assert owner.get("/office/limits/nothing/").status_code == 404
