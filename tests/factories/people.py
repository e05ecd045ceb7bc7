"""Invented customers."""

from datetime import date

import factory
from factory.django import DjangoModelFactory

from shop.people.models import Customer, EmailAddress, Ownership, User
from tests.factories.vehicles import TowedFactory


class UserFactory(DjangoModelFactory):
    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"staff{n}")
    role = User.Role.DESK


class CustomerFactory(DjangoModelFactory):
    class Meta:
        model = Customer

    name = factory.Sequence(lambda n: f"Wren Alder {n}")
    called = "Wren"
    time_zone = "America/Denver"


class EmailFactory(DjangoModelFactory):
    class Meta:
        model = EmailAddress

    customer = factory.SubFactory(CustomerFactory)
    address = factory.Sequence(lambda n: f"wren{n}@mail.example")


class OwnershipFactory(DjangoModelFactory):
    class Meta:
        model = Ownership

    customer = factory.SubFactory(CustomerFactory)
    vehicle = factory.SubFactory(TowedFactory)
    since = date(2020, 1, 1)
