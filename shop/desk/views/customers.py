"""The list of customers, and the page of one: how to reach them, what they drive, what is due."""

from typing import Any

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from shop.clock import today as shop_today
from shop.desk.access import staff
from shop.desk.paging import page_of
from shop.desk.present import happened
from shop.outbox.reads import mails_visible_to, silenced_addresses
from shop.people.models import Category, Customer, Ownership
from shop.reminders.reads import items_of_customer
from vehicles.models import Combination, Event

EVENTS_SHOWN = 12
MAILS_SHOWN = 8


@staff
def customers(request: HttpRequest) -> HttpResponse:
    """List customers by name."""
    rows = Customer.objects.visible_to(request.user).prefetch_related("phones")
    page = page_of(request, rows)
    counts = Ownership.objects.current().filter(customer__in=[row.pk for row in page])
    owned = {
        row["customer"]: row["n"]
        for row in counts.order_by().values("customer").annotate(n=Count("id"))
    }
    for row in page:
        row.vehicle_count = owned.get(row.pk, 0)
    return render(request, "desk/customers.html", {"page": page, "here": "customers"})


@staff
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one customer."""
    rows = Customer.objects.visible_to(request.user)
    found = get_object_or_404(
        rows.prefetch_related("persons", "phones__person", "emails__person", "consents"), pk=pk
    )
    owned = Ownership.objects.filter(customer=found).select_related("vehicle__standing")
    ownerships = list(owned.order_by("until", "vehicle__kind", "since"))
    current = [row for row in ownerships if row.until is None]
    pairs = _pairs([row.vehicle_id for row in current])
    context = {
        "customer": found,
        "crumbs": [{"label": "Customers", "url": reverse("desk:customers")}],
        "emails": _emails(found),
        "consents": _consents(found),
        "vehicles": [{"owned": row, "pairs": pairs.get(row.vehicle_id, [])} for row in current],
        "earlier": [row for row in ownerships if row.until is not None],
        "dues": happened.dues(items_of_customer(pk), shop_today(), of="vehicle"),
        "mails": list(mails_visible_to(request.user).filter(customer=pk)[:MAILS_SHOWN]),
        "events": happened.events(Event.objects.of_customer(pk)[:EVENTS_SHOWN]),
    }
    return render(request, "desk/customer.html", context)


def _pairs(vehicle_ids: list[int]) -> dict[int, list[Combination]]:
    """Return the current combinations of these vehicles, by either vehicle."""
    both = Q(towed__in=vehicle_ids) | Q(motorhome__in=vehicle_ids)
    found: dict[int, list[Combination]] = {}
    for pair in Combination.objects.current().filter(both).select_related("motorhome", "towed"):
        found.setdefault(pair.towed_id, []).append(pair)
        found.setdefault(pair.motorhome_id, []).append(pair)
    return found


def _emails(found: Customer) -> list[dict[str, Any]]:
    """Return the addresses with what they asked not to be told."""
    rows = list(found.emails.all())
    silenced = silenced_addresses([row.address for row in rows])
    return [
        {
            "row": row,
            "silent": [
                label
                for value, label in Category.choices
                if (row.address.lower(), value) in silenced
            ],
        }
        for row in rows
    ]


def _consents(found: Customer) -> list[dict[str, Any]]:
    """Return what the customer said about each category of messages, asked or not."""
    said = {consent.category: consent for consent in found.consents.all()}
    return [
        {"label": label, "value": value, "consent": said.get(value)}
        for value, label in Category.choices
    ]
