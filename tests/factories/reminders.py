"""Rules, and a customer with one fitted part on which something can fall due."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import factory
from factory.django import DjangoModelFactory

from installs.models import Fitting
from shop.people.models import Category, Customer
from shop.reminders.models import DueItem, ServiceRule
from shop.reminders.services import refresh_due
from tests.factories.installs import CheckFactory, FittingFactory, KindFactory
from tests.factories.people import CustomerFactory, EmailFactory, OwnershipFactory
from vehicles.models import Vehicle


class RuleFactory(DjangoModelFactory):
    """Load-test a breakaway battery every 12 months."""

    class Meta:
        model = ServiceRule

    name = factory.Sequence(lambda n: f"Battery test {n}")
    kind = factory.SubFactory(KindFactory)
    check_asked = factory.SubFactory(CheckFactory)
    trigger = ServiceRule.Trigger.MONTHS
    months = 12
    what = "Load test of the breakaway battery"
    why = "A tired battery shows full voltage and gives out as soon as it has to hold the brakes."
    todo = "Bring the vehicle in; the test takes a quarter of an hour."


class ReverifyRuleFactory(RuleFactory):
    name = factory.Sequence(lambda n: f"Prove again {n}")
    kind = None
    check_asked = None
    trigger = ServiceRule.Trigger.EVENT
    months = None
    category = Category.SAFETY
    risk = 3
    what = "The braking has to be proven again"


@dataclass
class Case:
    """A customer who owns a vehicle with a part fitted on 1 March 2025."""

    customer: Customer
    vehicle: Vehicle
    fitting: Fitting

    @property
    def item(self) -> DueItem:
        return DueItem.objects.get(vehicle=self.vehicle, closed_on=None)

    def refresh(self, today: date) -> None:
        refresh_due(vehicle_ids=[self.vehicle.pk], today=today)


def a_case(*, email: str | None = "wren@mail.example", **customer: Any) -> Case:
    """Make the customer with one e-mail address (None for none), the vehicle and the fitting."""
    owner = CustomerFactory(**customer)
    if email:
        EmailFactory(customer=owner, address=email)
    fitting = FittingFactory()
    OwnershipFactory(customer=owner, vehicle=fitting.vehicle)
    return Case(owner, fitting.vehicle, fitting)
