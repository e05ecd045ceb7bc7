"""Invented parts, where they are fitted, and looks at them."""

from datetime import date

import factory
from factory.django import DjangoModelFactory

from installs.models import Check, Component, ComponentKind, Fitting, Inspection, Reverification
from tests.factories.vehicles import TowedFactory


class KindFactory(DjangoModelFactory):
    class Meta:
        model = ComponentKind
        django_get_or_create = ("slug",)

    slug = "breakaway-battery"
    name = "Breakaway battery"


class ComponentFactory(DjangoModelFactory):
    class Meta:
        model = Component

    kind = factory.SubFactory(KindFactory)
    serial = factory.Sequence(lambda n: f"BB-{n:05}")
    state = Component.State.FITTED


class FittingFactory(DjangoModelFactory):
    class Meta:
        model = Fitting

    component = factory.SubFactory(ComponentFactory)
    vehicle = factory.SubFactory(TowedFactory)
    since = date(2025, 3, 1)


class CheckFactory(DjangoModelFactory):
    class Meta:
        model = Check
        django_get_or_create = ("slug",)

    slug = "load-test"
    name = "Load test"


class InspectionFactory(DjangoModelFactory):
    """Give it a `fitting`; vehicle and component follow."""

    class Meta:
        model = Inspection

    vehicle = factory.SelfAttribute("fitting.vehicle")
    component = factory.SelfAttribute("fitting.component")
    check_done = factory.SubFactory(CheckFactory)
    result = Inspection.Result.PASSED
    by = "Robin Sedge"


class ReverificationFactory(DjangoModelFactory):
    class Meta:
        model = Reverification

    vehicle = factory.SubFactory(TowedFactory)
    cause = Reverification.Cause.PROCEDURE
    differences = ["F12 is now pulled; the transmitter is fed from its load side."]
    opened_on = date(2026, 3, 1)
