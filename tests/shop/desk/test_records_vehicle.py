"""Vehicles by form: VIN, units, owners, combinations and readings."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Reverification
from shop.people.models import Ownership
from shop.people.services import start_ownership
from tests.factories.desk import ACTOR, a_crestline, okafors
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Combination, Event, Reading, Vehicle
from vehicles.services import add_vehicle, change_vehicle

ADD = "/vehicles/new/"
# Invented, with the check digit that the other sixteen characters give.
VIN = "1ZZ00000400000001"


def motorhome(**fields: object) -> Vehicle:
    return add_vehicle(
        actor=ACTOR, kind="motorhome", make="Halden", model="Rover 34", year=2020, **fields
    )


def test_masses_are_stored_in_kilograms_and_shown_as_typed(desk: Client) -> None:
    fill_in(desk, ADD, make="Alder", year="2019", gvwr_kg_0="4,510", gvwr_kg_1="lb")
    one = Vehicle.objects.get()
    # 1 lb is 0.45359237 kg exactly (international avoirdupois pound).
    assert one.gvwr_kg == Decimal("2045.70")
    shown = sent_back(desk.get(reverse("desk:vehicle_change", args=[one.pk])))
    assert (shown["gvwr_kg_0"], shown["gvwr_kg_1"]) == (["4,510"], ["lb"])
    assert Event.objects.get(vehicle_id=one.pk).verb == "added vehicle"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"vin": "1ZZ0000040000001"}, "has 16 characters; a VIN has 17"),
        ({"vin": "1ZZ0O000400000001"}, "Position 5: the letter O is not used in a VIN"),
        ({"vin": "1ZZ0O000400000001"}, "enter 1ZZ00000400000001"),
        ({"year": "1066"}, "A year is between 1900 and"),
        ({"gvwr_kg_0": "4.5.1"}, "is not a number"),
        ({"gvwr_kg_0": "2045 kg", "gvwr_kg_1": "lb"}, "which one is right?"),
        ({"weight_kg_0": "3600", "weight_kind": ""}, "Say where this figure comes from"),
        ({"weighed_on": "2126-01-01"}, "is still to come"),
        ({"make": ""}, "Make: This field is required."),
    ],
)
def test_what_is_wrong_stands_at_the_field_and_nothing_is_saved(
    desk: Client, typed: dict[str, str], sentence: str
) -> None:
    answer = fill_in(desk, ADD, **{"make": "Alder", "note": "kept", **typed})
    assert sentence in words_of(answer)
    back = sent_back(answer)
    assert back["note"] == ["kept"]
    assert all(back[name] == [value] for name, value in typed.items())
    assert not Vehicle.objects.exists()


@pytest.mark.parametrize(
    ("vin", "note"),
    [
        ("WZZZZZ5NZEW000123", "need not use it"),
        ("11111111111111111", "looks like a placeholder"),
    ],
)
def test_an_odd_vin_warns_and_is_kept(desk: Client, vin: str, note: str) -> None:
    answer = fill_in(desk, ADD, make="Alder", year="2014", vin=vin)
    assert Vehicle.objects.get().vin == vin
    assert note in words_of(desk.get(answer.url))


def test_a_vin_that_is_known_already_leads_to_the_vehicle_it_belongs_to(desk: Client) -> None:
    known = add_vehicle(actor=ACTOR, kind="towed", make="Larkspur", model="Fjord", vin=VIN)
    answer = fill_in(desk, ADD, make="Alder", vin=VIN)
    assert f"{known} with this VIN is in the records already" in words_of(answer)
    assert Vehicle.objects.count() == 1


def test_the_chassis_year_is_asked_and_never_taken_from_the_vin(desk: Client) -> None:
    vin = "1ZZ00000XK0000001"  # K in position 10: 1989 or 2019
    answer = fill_in(desk, f"{ADD}?kind=motorhome", make="Halden", year="2020", vin=vin)
    one = Vehicle.objects.get()
    assert (one.chassis_year, one.year) == (None, 2020)
    assert "The VIN allows 1989 or 2019 as chassis year" in words_of(desk.get(answer.url))


def test_a_customers_second_vehicle_is_compared_with_the_first(desk: Client) -> None:
    customer = okafors()
    a_crestline(customer=customer)
    answer = fill_in(desk, f"{ADD}?customer={customer.pk}", make="Larkspur", model="Fjord")
    one = Vehicle.objects.get(make="Larkspur")
    assert Ownership.objects.get(vehicle=one).customer == customer
    assert Reverification.objects.get(vehicle=one).cause == "vehicle_added"
    assert "must be proven before it is towed" in words_of(desk.get(answer.url))


def test_a_double_click_makes_one_vehicle(desk: Client) -> None:
    paper = {**sent_back(desk.get(ADD)), "make": "Alder"}
    assert desk.post(ADD, paper).url == desk.post(ADD, paper).url
    assert Vehicle.objects.count() == 1


def test_opening_and_saving_unchanged_changes_nothing(desk: Client) -> None:
    one = a_crestline()
    before = Event.objects.count()
    fill_in(desk, reverse("desk:vehicle_change", args=[one.pk]))
    fresh = Vehicle.objects.get(pk=one.pk)
    assert (fresh.version, fresh.model_range_id) == (one.version, one.model_range_id)
    assert Event.objects.count() == before


def test_two_open_forms_show_both_masses(desk: Client) -> None:
    one = a_crestline()
    url = reverse("desk:vehicle_change", args=[one.pk])
    paper = sent_back(desk.get(url))
    change_vehicle(
        vehicle=one, changes={"gvwr_kg": Decimal(2100)}, version=one.version, actor=ACTOR
    )
    answer = desk.post(url, {**paper, "gvwr_kg_0": "2200", "gvwr_kg_1": "kg"})
    assert "In the record now: 2100 kg" in words_of(answer)
    assert "What you entered: 2200 kg" in words_of(answer)
    desk.post(url, {**sent_back(answer), "choose-gvwr_kg": "theirs"})
    assert Vehicle.objects.get(pk=one.pk).gvwr_kg == Decimal(2100)


def test_a_vehicle_changes_hands(desk: Client) -> None:
    one, other = a_crestline(customer=okafors()), okafors(name="Teller", called="")
    start = reverse("desk:ownership_start", args=[one.pk])
    answer = fill_in(desk, start, customer_scrap="teller")
    assert "End that ownership first" in words_of(answer)
    begun = Ownership.objects.get(vehicle=one)
    end = reverse("desk:ownership_end", args=[begun.pk])
    assert "cannot end before that day" in words_of(
        fill_in(desk, end, until="2020-01-01", why="sold")
    )
    fill_in(desk, end, why="sold")
    fill_in(desk, start, customer_scrap="teller")
    assert Ownership.objects.current().get(vehicle=one).customer == other


def test_a_scrap_that_fits_several_shows_them_and_takes_none(desk: Client) -> None:
    one = a_crestline()
    customers = [okafors(name=name) for name in ("Teller", "Tellerson")]
    start = reverse("desk:ownership_start", args=[one.pk])
    answer = fill_in(desk, start, customer_scrap="teller")
    assert "Several fit “teller”: choose one." in words_of(answer)
    assert not Ownership.objects.exists()
    desk.post(start, {**sent_back(answer), "customer_pick": str(customers[1].pk)})
    assert Ownership.objects.get().customer == customers[1]


def test_a_combination_begins_once_and_ends(desk: Client) -> None:
    one, coach = a_crestline(), motorhome()
    start = reverse("desk:combination_start", args=[one.pk])
    fill_in(desk, start, other_scrap="halden")
    answer = fill_in(desk, start, other_scrap="rover", why="again")
    assert "already tows" in words_of(answer)
    pair = Combination.objects.get()
    assert (pair.motorhome, pair.towed) == (coach, one)
    fill_in(desk, reverse("desk:combination_end", args=[pair.pk]))
    assert not Combination.objects.current().exists()


def test_one_of_two_ways_to_pick_is_enough_for_a_browser(desk: Client) -> None:
    customer = okafors()
    one, coach = a_crestline(customer=customer), motorhome()
    since = date(2025, 6, 1)
    start_ownership(customer=customer, vehicle=coach, since=since, actor=ACTOR)
    page = desk.get(reverse("desk:combination_start", args=[one.pk])).content.decode()
    parts = re.findall(r"<input[^>]*name=\"other_(?:scrap|pick)\"[^>]*>", page)
    assert len(parts) == 2  # the coach of the same customer, and the box to look for another
    assert not [part for part in parts if "required" in part]


def test_a_motorhome_is_given_up_and_taken_over_from_its_page(
    desk: Client, technician: Client
) -> None:
    coach, customer = motorhome(), okafors()
    url = reverse("desk:vehicle", args=[coach.pk])
    start = reverse("desk:ownership_start", args=[coach.pk])
    assert start in desk.get(url).content.decode()
    fill_in(desk, start, customer_scrap="okafor")
    owned = Ownership.objects.get(vehicle=coach, customer=customer)
    end = reverse("desk:ownership_end", args=[owned.pk])
    assert end in desk.get(url).content.decode()
    assert end not in technician.get(url).content.decode()
    fill_in(desk, end, why="sold")
    assert start in desk.get(url).content.decode()


def test_candidates_of_one_name_are_told_apart(desk: Client) -> None:
    customer = okafors()
    for number in (1, 2):
        a_crestline(number, customer=customer)
    stray = a_crestline(3)
    start = reverse("desk:combination_start", args=[motorhome().pk])
    shown = words_of(fill_in(desk, start, other_scrap="crestline"))
    assert "2019 Alder Crestline, QZ 4471, Ines and Paul Okafor, VIN tail K7033181" in shown
    assert "2019 Alder Crestline, QZ 4472, Ines and Paul Okafor, VIN tail K7033182" in shown
    assert f"{stray}, QZ 4473, no owner recorded, VIN tail K7033183" in shown


def test_a_reading_is_kept_as_typed_and_a_lower_one_needs_a_reason(technician: Client) -> None:
    one = a_crestline()
    url = reverse("desk:reading_add", args=[one.pk])
    fill_in(technician, url, what="odometer_km", value="40,000", unit="mi", on="2026-03-01")
    read = Reading.objects.get()
    assert (read.typed, read.value, read.on) == (
        "40,000 mi", Decimal("64373.760"), date(2026, 3, 1)
    )  # fmt: skip
    assert "It stood at 40,000 mi" in words_of(
        fill_in(technician, url, what="odometer_km", value="39000", unit="mi")
    )
    assert "This is read in V." in words_of(
        fill_in(technician, url, what="battery_v", value="12.4", unit="mi")
    )
    assert Reading.objects.count() == 1


def test_a_range_that_ends_before_it_begins_is_refused(desk: Client) -> None:
    typed = {"make": "Alder", "model": "Crestline", "year_from": "2018", "year_to": "2016"}
    assert "before it begins in 2018" in words_of(fill_in(desk, "/ranges/new/", **typed))
    assert fill_in(desk, "/ranges/new/", **{**typed, "year_to": "2018"}).status_code == 302


def test_other_peoples_rows_are_not_found(desk: Client) -> None:
    assert desk.get("/vehicles/999/change/").status_code == 404
    assert desk.get("/vehicles/new/?customer=999").status_code == 404
    assert desk.get("/vehicles/new/?kind=boat").status_code == 404
    assert desk.get(f"/vehicles/{motorhome().pk}/fit/").status_code == 404
