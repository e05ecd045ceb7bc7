"""Stopping a category of messages, as the customer asks for it."""

from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from shop.outbox.services import suppress_address
from shop.people.models import Category, Consent, Customer
from shop.people.services import set_consent
from vehicles.records import Actor

from .planning import refresh_customer

THE_CUSTOMER = Actor("the customer, by the link in a mail")


@transaction.atomic
def opt_out(*, customer: Customer, category: str, how: str, today: date) -> bool:
    """Stop a category for a customer; True where it was not stopped before.

    `how` says by which way, for the log. Safety notices cannot be stopped: False, and nothing
    changes.
    """
    if category == Category.SAFETY:
        return False
    if Consent.objects.filter(customer=customer, category=category, allowed=False).exists():
        return False
    set_consent(customer=customer, category=category, allowed=False, how=how, actor=THE_CUSTOMER)
    refresh_customer(customer_id=customer.pk, today=today)
    return True


@transaction.atomic
def opt_out_address(*, address: str, category: str, how: str, today: date) -> None:
    """Stop a category to an address, for every customer who uses it now or later."""
    if category == Category.SAFETY:
        return
    suppress_address(address=address, category=category, why=how, actor=THE_CUSTOMER)
    for pk in sharing(address).values_list("pk", flat=True):
        refresh_customer(customer_id=pk, today=today)


def sharing(address: str) -> QuerySet[Customer]:
    """Return the customers who have this address on file, in the order of their names."""
    return Customer.objects.filter(emails__address__iexact=address).distinct()
