"""Invented vehicles of invented makes."""

import factory
from factory.django import DjangoModelFactory

from vehicles.models import Vehicle


class TowedFactory(DjangoModelFactory):
    class Meta:
        model = Vehicle

    kind = Vehicle.Kind.TOWED
    make = "Larkspur"
    model = "Fjord"
    year = 2021
    plate = factory.Sequence(lambda n: f"QC {1000 + n}")
