"""Parts by form: taken in, fitted, rewired, moved, taken out."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Component, ComponentKind, Fitting, Reverification
from installs.services.parts import add_component
from tests.factories.desk import ACTOR, a_crestline, okafors
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Event, Vehicle

ADD = "/components/new/"


def kind(slug: str = "transmitter") -> ComponentKind:
    return ComponentKind.objects.get(slug=slug)


def fitted(vehicle: Vehicle, slug: str = "transmitter") -> Fitting:
    return Fitting.objects.current().get(vehicle=vehicle, component__kind__slug=slug)


def change(fitting: Fitting) -> str:
    return reverse("desk:fitting_change", args=[fitting.pk])


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"serial": "T-88120"}, "is in the records already, fitted."),
        ({"date_code_typed": "2413"}, "Enter"),
        ({"date_code_typed": "2124-03"}, "lies in the future"),
        ({"kind": ""}, "Kind of part: This field is required."),
    ],
)
def test_a_part_that_cannot_be_is_refused_at_its_field(
    desk: Client, typed: dict[str, str], sentence: str
) -> None:
    a_crestline()
    before = Component.objects.count()
    answer = fill_in(desk, ADD, **{"kind": str(kind().pk), "lot": "kept", **typed})
    assert sentence in words_of(answer)
    assert sent_back(answer)["lot"] == ["kept"]
    assert Component.objects.count() == before


def test_a_part_taken_in_for_a_vehicle_goes_on_to_its_feeds(desk: Client) -> None:
    one = a_crestline()
    url = f"{ADD}?vehicle={one.pk}"
    answer = fill_in(desk, url, kind=str(kind().pk), serial="T-1", date_code_typed="2024-03")
    part = Component.objects.get(serial="T-1")
    assert (part.state, part.date_code) == ("in_stock", date(2024, 3, 1))
    assert answer.url == f"/vehicles/{one.pk}/fit/?component={part.pk}"


def test_a_part_goes_on_with_everything_unknown_unless_said(technician: Client) -> None:
    one = a_crestline()
    part = add_component(actor=ACTOR, kind=kind(), serial="T-1")
    url = reverse("desk:fit", args=[one.pk])
    assert fill_in(technician, url, component_scrap="T-1").url == f"{url}?component={part.pk}"
    paper = sent_back(technician.get(f"{url}?component={part.pk}"))
    assert (paper["supply__feed"], paper["supply__known"]) == (["unknown"], ["assumed"])
    fill_in(technician, f"{url}?component={part.pk}", place="under the seat")
    made = Fitting.objects.get(component=part)
    assert (made.ports, made.place) == ({}, "under the seat")


def test_the_feeds_are_offered_in_words(technician: Client) -> None:
    shown = words_of(technician.get(change(fitted(a_crestline()))))
    assert "F21, 15 A, load side" in shown
    assert "F21, 15 A, supply side" in shown
    assert "outlet dash, dash outlet" in shown
    assert "Before the stop-lamp wire is cut" in shown


def test_a_recorded_feed_is_stored_with_its_units_and_logged(technician: Client) -> None:
    fitting = fitted(a_crestline())
    typed = {
        "supply__feed": "fuse:F21@supply", "supply__ground": "body", "supply__own_fuse_a": "3",
        "supply__gauge_0": "16", "supply__gauge_1": "awg",
        "supply__length_0": "2 ft 6 in", "supply__length_1": "ft",
        "supply__known": "measured", "why": "re-tapped",
    }  # fmt: skip
    fill_in(technician, change(fitting), **typed)
    assert Fitting.objects.get(pk=fitting.pk).ports == {
        "supply": {
            "feed": "fuse:F21@supply", "ground": "body", "own_fuse_a": 3.0,
            "wire": {"awg": 16.0, "length_m": 0.762}, "known": "measured",
        }
    }  # fmt: skip
    event = Event.objects.filter(verb="rewired").get()
    assert (event.why, event.before["ports"]["supply"]["feed"]) == ("re-tapped", "fuse:F21")


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"supply__feed": "fuse:F99"}, "Fed from", "“fuse:F99” is not on the feed map. It has"),
        ({"supply__feed": "own"}, "Returns to", "“own” is for both ends"),
        (
            {"supply__feed": "outlet:dash", "supply__in_slot": "on"},
            "The tap sits in the fuse's own slot and comes out with the fuse",
            "Only a tap at a fuse",
        ),
        ({"supply__own_fuse_a": "0"}, "Its own fuse", "This must be more than 0."),
        ({"supply__gauge_0": "90", "supply__gauge_1": "awg"}, "Wire gauge", "at most 24"),
        ({"supply__length_0": "long"}, "Wire length", "is not a number"),
    ],
)
def test_a_feed_that_cannot_be_is_refused_at_its_field(
    technician: Client, typed: dict[str, str], field: str, sentence: str
) -> None:
    fitting = fitted(a_crestline())
    answer = fill_in(technician, change(fitting), **{**typed, "place": "kept"})
    # The list above the form names the field and links to it.
    assert f"{field}: " in words_of(answer)
    assert sentence in words_of(answer)
    assert sent_back(answer)["place"] == ["kept"]
    assert Fitting.objects.get(pk=fitting.pk).ports == fitting.ports


def test_a_feed_that_a_corrected_map_lost_stays_on_the_list(technician: Client) -> None:
    fitting = fitted(a_crestline())
    Fitting.objects.filter(pk=fitting.pk).update(
        ports={"supply": {"feed": "fuse:F77", "ground": "body"}}
    )
    page = technician.get(change(fitting))
    assert "fuse:F77 (not on the feed map)" in words_of(page)
    assert sent_back(page)["supply__feed"] == ["fuse:F77"]


def test_two_open_forms_show_both_feeds(technician: Client) -> None:
    fitting = fitted(a_crestline())
    url = change(fitting)
    paper = sent_back(technician.get(url))
    told = {"supply__known": "measured", "why": "re-tapped"}
    fill_in(technician, url, supply__feed="fuse:F22", **told)
    answer = technician.post(url, {**paper, "supply__feed": "fuse:F09", **told})
    assert "In the record now: F22, 15 A, load side" in words_of(answer)
    assert "What you entered: F09, 20 A, load side" in words_of(answer)
    technician.post(url, {**sent_back(answer), "choose-supply__feed": "mine"})
    assert Fitting.objects.get(pk=fitting.pk).ports["supply"]["feed"] == "fuse:F09"


def test_a_moved_part_keeps_its_history_and_loses_its_feeds(desk: Client) -> None:
    customer = okafors()
    one, two = a_crestline(customer=customer), a_crestline(2, customer=customer)
    fitting = fitted(one)
    url = reverse("desk:fitting_move", args=[fitting.pk])
    typed = {"vehicle_pick": str(two.pk), "wiring": "yes", "why": "new car"}
    answer = fill_in(desk, url, **typed)
    moved = Fitting.objects.current().get(component=fitting.component)
    assert (moved.vehicle, moved.ports) == (two, {})
    assert answer.url == change(moved)
    assert Reverification.objects.open().filter(vehicle=two).exists()
    assert Fitting.objects.get(pk=fitting.pk).wiring_left_in is True


def test_a_fitted_part_does_not_become_one_of_another_kind(desk: Client) -> None:
    part = fitted(a_crestline()).component
    url = reverse("desk:component_change", args=[part.pk])
    other = str(kind("brake_unit").pk)
    answer = fill_in(desk, url, kind=other, lot="kept")
    assert "It is set up on 2019 Alder Crestline as Transmitter" in words_of(answer)
    assert sent_back(answer)["lot"] == ["kept"]
    assert Component.objects.get(pk=part.pk).kind == kind()
    fill_in(desk, url, lot="L-7")
    assert Component.objects.get(pk=part.pk).lot == "L-7"
    loose = add_component(kind=kind(), serial="T-9", actor=ACTOR)
    fill_in(desk, reverse("desk:component_change", args=[loose.pk]), kind=other)
    assert Component.objects.get(pk=loose.pk).kind == kind("brake_unit")


def test_taking_a_part_off_asks_what_becomes_of_it(desk: Client) -> None:
    fitting = fitted(a_crestline())
    url = reverse("desk:fitting_remove", args=[fitting.pk])
    answer = fill_in(desk, url, why="sold")
    assert words_of(answer).count("This field is required.") == 4  # two fields, each said twice
    assert "cannot have come off before" in words_of(
        fill_in(desk, url, why="sold", wiring="no", becomes="held", until="2020-01-01")
    )
    fill_in(desk, url, why="sold", wiring="no", becomes="held")
    assert Component.objects.get(pk=fitting.component_id).state == "held"
    assert desk.get(url).status_code == 404


def test_a_technician_moves_and_takes_off(technician: Client) -> None:
    customer = okafors()
    one, two = a_crestline(customer=customer), a_crestline(2, customer=customer)
    shown = technician.get(reverse("desk:vehicle", args=[one.pk])).content.decode()
    moved, off = fitted(one), fitted(one, "stop_lamp_relay")
    for name, key in (
        ("fit", one.pk), ("outside_work", one.pk), ("fitting_move", moved.pk),
        ("fitting_remove", off.pk),
    ):  # fmt: skip
        assert reverse(f"desk:{name}", args=[key]) in shown
    told = {"wiring": "no", "why": "changed cars"}
    move = reverse("desk:fitting_move", args=[moved.pk])
    fill_in(technician, move, vehicle_pick=str(two.pk), **told)
    assert Fitting.objects.current().get(component=moved.component).vehicle == two
    fill_in(technician, reverse("desk:fitting_remove", args=[off.pk]), becomes="held", **told)
    assert Component.objects.get(pk=off.component_id).state == "held"
