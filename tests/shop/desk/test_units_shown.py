"""Figures in the units of the shop, or of the person who reads them; what was typed stays."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from shop.people.models import User
from tests.factories.people import UserFactory
from vehicles import services
from vehicles.models import Vehicle
from vehicles.records import Actor

pytestmark = pytest.mark.django_db


@pytest.fixture
def coach() -> Vehicle:
    return services.add_vehicle(
        actor=Actor("Teo Lind", 2),
        kind=Vehicle.Kind.MOTORHOME,
        make="Quernlow",
        gcwr_kg=Decimal("11793.40"),
    )


def page(client: Client, coach: Vehicle) -> str:
    return client.get(reverse("desk:vehicle", args=[coach.pk])).content.decode()


def choose(client: Client, units: str) -> None:
    client.post(reverse("units"), {"units": units, "next": "/"})


def test_a_person_sees_their_own_units_first_and_the_other_beside(
    client: Client, coach: Vehicle
) -> None:
    client.force_login(UserFactory(role="technician"))
    assert "26,000 lb (11,793 kg)" in page(client, coach)

    choose(client, "metric")
    assert "11,793 kg (26,000 lb)" in page(client, coach)

    choose(client, "")
    assert "26,000 lb (11,793 kg)" in page(client, coach)


def test_a_metric_shop_shows_metric_to_whoever_chose_nothing(
    client: Client, coach: Vehicle, settings: object
) -> None:
    settings.SHOP_UNITS = "metric"
    client.force_login(UserFactory(role="technician"))

    assert "11,793 kg (26,000 lb)" in page(client, coach)


def test_units_that_do_not_exist_change_nothing(client: Client, coach: Vehicle) -> None:
    user = UserFactory(role="technician")
    client.force_login(user)

    choose(client, "cubits")

    assert User.objects.get(pk=user.pk).units == ""


def test_going_back_never_leaves_the_shop(client: Client) -> None:
    client.force_login(UserFactory(role="technician"))

    answer = client.post(reverse("units"), {"units": "us", "next": "https://elsewhere.example/"})

    assert answer.url == "/"
