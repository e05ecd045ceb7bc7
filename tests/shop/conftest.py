"""Three people at the keyboard, and a vehicle with one proven part."""

import pytest
from django.test import Client

from installs.models import ComponentKind, Fitting
from installs.services import parts
from shop import changes
from shop.people import services as people
from shop.people.models import Customer
from shop.people.services import Reach
from tests.factories.people import UserFactory
from tests.factories.proving import BY, FEED_MAP, MARA, fit, own, procedure, prove
from vehicles import services as vehicles
from vehicles.models import ModelRange


def _signed_in(role: str) -> Client:
    client = Client()
    client.force_login(UserFactory(role=role, first_name=role.title()))
    return client


@pytest.fixture
def desk(db: None) -> Client:
    """Somebody of the service desk."""
    return _signed_in("desk")


@pytest.fixture
def technician(db: None) -> Client:
    """A technician."""
    return _signed_in("technician")


@pytest.fixture
def owner(db: None) -> Client:
    """The owner."""
    return _signed_in("owner")


@pytest.fixture
def crestline(db: None) -> ModelRange:
    found = vehicles.add_model_range(
        actor=MARA, make="Alder", model="Crestline", year_from=2010, year_to=2014
    )
    changes.revise_feed_map(content=FEED_MAP, model_range=found, **BY)
    changes.revise_procedure(content=procedure("F08"), model_range=found, **BY)
    return found


@pytest.fixture
def ines(db: None) -> Customer:
    return people.add_customer(actor=MARA, reach=Reach(emails=["i@okafor.example"]), name="Ines")


@pytest.fixture
def transmitter(db: None) -> ComponentKind:
    return parts.add_kind(
        actor=MARA,
        slug="transmitter",
        name="Transmitter",
        ports=[{"name": "supply", "demand": {"drive": "any", "tow": "on"}, "peak_a": 1}],
    )


@pytest.fixture
def proven(ines: Customer, crestline: ModelRange, transmitter: ComponentKind) -> Fitting:
    fitting = fit(transmitter, own(ines))
    prove(fitting)
    return fitting
