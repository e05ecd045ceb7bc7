"""Whose a vehicle is, and which motorhome tows it: beginning and end."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from shop import changes
from shop.clock import today
from shop.desk.access import keepers
from shop.desk.actor import actor_of
from shop.desk.forms.pairs import (
    CombinationEndForm,
    CombinationStartForm,
    OwnershipEndForm,
    OwnershipStartForm,
)
from shop.desk.saving import form_page, saved
from shop.people.models import Ownership
from vehicles import services
from vehicles.models import Combination, Vehicle

from .common import crumbs_of, page_of, telling_raised, vehicle_of


@keepers
def ownership_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Record whose the vehicle is from now on."""
    vehicle = vehicle_of(request, pk)
    form = OwnershipStartForm(request.POST or None, today=today())

    def act() -> str:
        told = form.cleaned_data
        with telling_raised(request, [pk]):
            changes.start_ownership(
                customer=told["customer"], vehicle=vehicle, since=told["since"], why=told["why"],
                today=today(), actor=actor_of(request),
            )  # fmt: skip
            messages.success(
                request, f"{vehicle} belongs to {told['customer']} since {told['since']}."
            )
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"New owner of {vehicle}",
        back=page_of(vehicle),
        crumbs=crumbs_of(vehicle),
    )


@keepers
def ownership_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the vehicle is no longer the customer's."""
    rows = Ownership.objects.current().filter(vehicle__in=Vehicle.objects.visible_to(request.user))
    ownership = get_object_or_404(rows.select_related("vehicle", "customer"), pk=pk)
    form = OwnershipEndForm(request.POST or None, today=today(), ownership=ownership)
    vehicle = ownership.vehicle

    def act() -> str:
        told = form.cleaned_data
        changes.end_ownership(
            ownership=ownership, until=told["until"], why=told["why"],
            today=today(), actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, f"{ownership.customer} gave up {vehicle}. Reminders for it stop.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"{ownership.customer} gives up {vehicle}",
        back=page_of(vehicle),
        crumbs=crumbs_of(vehicle),
    )


@keepers
def combination_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Record which motorhome tows which vehicle from now on."""
    vehicle = vehicle_of(request, pk)
    form = CombinationStartForm(request.POST or None, today=today(), vehicle=vehicle)

    def act() -> str:
        told = form.cleaned_data
        pair = (vehicle, told["other"]) if vehicle.is_motorhome else (told["other"], vehicle)
        made = services.start_combination(
            motorhome=pair[0], towed=pair[1], since=told["since"], why=told["why"],
            actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, f"Noted: {made}, since {made.since}.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"What does {vehicle} tow?" if vehicle.is_motorhome else f"What tows {vehicle}?",
        back=page_of(vehicle),
        crumbs=crumbs_of(vehicle),
    )


@keepers
def combination_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that two vehicles are no longer driven together."""
    rows = Combination.objects.current().filter(towed__in=Vehicle.objects.visible_to(request.user))
    pair = get_object_or_404(rows.select_related("motorhome", "towed"), pk=pk)
    form = CombinationEndForm(request.POST or None, today=today(), combination=pair)

    def act() -> str:
        told = form.cleaned_data
        services.end_combination(
            combination=pair, until=told["until"], why=told["why"], actor=actor_of(request)
        )
        messages.success(request, f"Noted: no longer {pair}.")
        return page_of(pair.towed)

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"No longer {pair}",
        back=page_of(pair.towed),
        crumbs=crumbs_of(pair.towed),
    )
