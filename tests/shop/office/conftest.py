"""Three people at the keyboard."""

import pytest
from django.test import Client

from tests.factories.people import UserFactory


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
