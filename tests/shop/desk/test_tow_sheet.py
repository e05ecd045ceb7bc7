"""The tow sheet of a combination: what decides, what is unknown, what is measured as hitched."""

import html
import re
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from shop.demo.chain import Told, measure_chain
from tests.factories.desk import a_crestline
from tests.factories.people import UserFactory
from vehicles import services
from vehicles.models import Combination, Event, Vehicle
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 1)
TEO = Actor("Teo Lind", 2)


@pytest.fixture
def pair() -> Combination:
    coach = services.add_vehicle(
        actor=TEO,
        kind=Vehicle.Kind.MOTORHOME,
        make="Quernlow",
        model="Amble 24",
        year=2014,
        gcwr_kg=Decimal("11793.40"),
        gvwr_kg=Decimal("9525.44"),
    )
    return services.start_combination(motorhome=coach, towed=a_crestline(), since=DAY, actor=TEO)


@pytest.fixture
def technician(client: Client) -> Client:
    client.force_login(UserFactory(role="technician"))
    return client


def text_of(client: Client, url: str) -> str:
    response = client.get(url)
    assert response.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def sheet_url(pair: Combination, **query: str) -> str:
    url = reverse("desk:tow_sheet", args=[pair.pk])
    return f"{url}?leg={query['leg']}" if query else url


def test_what_nobody_recorded_is_unknown_and_says_what_to_read(
    technician: Client, pair: Combination
) -> None:
    told = text_of(technician, sheet_url(pair))

    assert "Read the rating on the receiver's label" in told
    assert "Record which tow bar is fitted, and its rating" in told
    assert "Read the battery's amp-hours" in told
    assert "not measured yet" in told


def test_the_weakest_link_is_named(technician: Client, pair: Combination) -> None:
    measure_chain(pair, Told(3_500, 3_720), day=DAY, actor=TEO)

    told = text_of(technician, sheet_url(pair))

    assert "Weakest of those recorded: receiver, 3,500 lb" in told
    assert "Weakest of those known, too weak" in told
    assert "74.0 in, more than 68.0 in wanted" in told
    assert "Ball mount or drop none the bar sits in the receiver itself" in told
    assert "Receiver 3,500 lb" in told


def test_a_leg_that_cannot_be_read_is_told_beside_the_field(
    technician: Client, pair: Combination
) -> None:
    assert "“eight” is not a number" in text_of(technician, sheet_url(pair, leg="eight"))
    assert "Give more than 0 and up to 48 hours" in text_of(technician, sheet_url(pair, leg="0"))


def hitched(**changes: str) -> dict[str, str]:
    """What the form sends, in inches."""
    sent = {"ball_mount": "", "lanyard_anchor": "", "measured_on": "2026-11-01", "version": "1"}
    for name in ("cables_mm", "lanyard_mm", "bar_length_mm", "bar_rise_mm"):
        sent |= {f"{name}_0": changes.get(name, ""), f"{name}_1": "in"}
    return sent


def test_what_was_measured_is_kept_as_typed_and_logged(
    technician: Client, pair: Combination
) -> None:
    url = reverse("desk:hitch_measure", args=[pair.pk])

    response = technician.post(url, hitched(cables_mm="68", lanyard_mm="5 ft 2 in"))

    assert response.status_code == 302
    kept = Combination.objects.get()
    assert kept.cables_mm == Decimal("1727.2")
    assert kept.lanyard_mm == Decimal("1574.8")
    assert kept.as_typed["lanyard_mm"]["number"] == "5 ft 2 in"
    assert Event.objects.filter(verb="measured as hitched").exists()
    told = text_of(technician, sheet_url(pair))
    assert "62.0 in, more than 68.0 in wanted" in told


def test_a_bar_that_rises_by_more_than_its_length_is_refused_at_the_field(
    technician: Client, pair: Combination
) -> None:
    url = reverse("desk:hitch_measure", args=[pair.pk])

    response = technician.post(url, hitched(bar_length_mm="12", bar_rise_mm="14"))

    assert response.status_code == 200
    assert "is not shorter than the bar itself" in response.content.decode()
    assert "14" in response.content.decode()
    assert Combination.objects.get().bar_rise_mm is None
