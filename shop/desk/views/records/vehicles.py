"""Adding and changing motorhomes and towed vehicles, and what is read off them."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop import changes
from shop.clock import today
from shop.desk.access import keepers, staff
from shop.desk.actor import actor_of
from shop.desk.forms.pairs import CorrectionForm, RangeForm, ReadingForm
from shop.desk.forms.vehicle import FORMS, VehicleForm
from shop.desk.saving import form_page, saved
from shop.people.models import Customer
from vehicles import corrections, services
from vehicles.models import Reading, Vehicle

from .common import crumbs_of, page_of, tell_open, telling_raised, vehicle_of

PAGE = "desk/records/vehicle.html"


@keepers
def vehicle_add(request: HttpRequest) -> HttpResponse:
    """Add a vehicle: to a customer where `?customer=` names one, else without an owner."""
    kind = request.GET.get("kind", Vehicle.Kind.TOWED)
    if kind not in FORMS:
        raise Http404
    customer = _customer(request)
    form = FORMS[kind](request.POST or None, today=today(), with_owner=customer is not None)

    def act() -> str:
        vehicle = _add(request, form, customer)
        messages.success(request, f"{vehicle} is in the records.")
        _tell(request, form)
        return page_of(vehicle)

    title = "Add a motorhome" if kind == Vehicle.Kind.MOTORHOME else "Add a towed vehicle"
    back = reverse("desk:customer", args=[customer.pk]) if customer else reverse("desk:vehicles")
    crumb = (str(customer), back) if customer else ("Vehicles", back)
    return saved(request, form, act) or form_page(
        request, form, title=title, back=back, crumbs=[crumb], template=PAGE,
        context={"kind": kind, "customer": customer},
    )  # fmt: skip


def _customer(request: HttpRequest) -> Customer | None:
    key = request.GET.get("customer", "")
    if not key:
        return None
    rows = Customer.objects.visible_to(request.user)
    return get_object_or_404(rows, pk=int(key) if key.isdecimal() else 0)


def _add(request: HttpRequest, form: VehicleForm, customer: Customer | None) -> Vehicle:
    fields = {"kind": form.kind, **form.columns}
    day, actor = today(), actor_of(request)
    if customer is None:
        return changes.add_vehicle(today=day, actor=actor, **fields)
    since = form.cleaned_data["owned_since"]
    vehicle = changes.add_vehicle_for_customer(
        customer=customer, since=since, today=day, actor=actor, **fields
    )
    tell_open(request, vehicle)
    return vehicle


def _tell(request: HttpRequest, form: VehicleForm) -> None:
    for note in form.notes():
        messages.warning(request, note)


@keepers
def vehicle_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is known of a vehicle."""
    vehicle = vehicle_of(request, pk)
    form = FORMS[vehicle.kind](request.POST or None, today=today(), record=vehicle)

    def act() -> str:
        with telling_raised(request, [pk]):
            changes.change_vehicle(
                vehicle=vehicle,
                changes=form.columns,
                version=form.cleaned_data["version"] or 0,
                today=today(),
                actor=actor_of(request),
            )
            messages.success(request, "The vehicle's record is up to date.")
        _tell(request, form)
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"Change {vehicle}", back=page_of(vehicle), crumbs=crumbs_of(vehicle)
    )


@staff
def reading_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a figure that was read off a vehicle."""
    vehicle = vehicle_of(request, pk)
    form = ReadingForm(request.POST or None, today=today())

    def act() -> str:
        read = form.cleaned_data
        services.add_reading(
            vehicle=vehicle,
            what=read["what"],
            value=read["canonical"],
            typed=read["typed"],
            on=read["on"],
            note=read["note"],
            actor=actor_of(request),
        )
        messages.success(request, f"Noted: {read['typed']} on {read['on']}.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"Read off {vehicle}",
        back=page_of(vehicle),
        crumbs=crumbs_of(vehicle),
    )


@staff
def reading_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what a reading really stands for."""
    rows = Reading.objects.filter(vehicle__in=Vehicle.objects.visible_to(request.user))
    reading = get_object_or_404(rows.select_related("vehicle"), pk=pk)
    form = CorrectionForm(request.POST or None, today=today(), record=reading)

    def act() -> str:
        told = form.cleaned_data
        corrections.correct_reading(
            reading=reading, sort=told["sort"], total=told["canonical"], typed=told["typed"],
            why=told["why"], actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, f"{reading.typed} of {reading.on} counts as {told['typed']}.")
        return page_of(reading.vehicle)

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"Correct {reading.typed}, read {reading.on:%d %b %Y}",
        back=page_of(reading.vehicle),
        crumbs=crumbs_of(reading.vehicle),
    )


@keepers
def range_add(request: HttpRequest) -> HttpResponse:
    """Add a model range."""
    form = RangeForm(request.POST or None, today=today())

    def act() -> str:
        fields = {n: v for n, v in form.cleaned_data.items() if n not in ("version", "once")}
        made = services.add_model_range(actor=actor_of(request), **fields)
        messages.success(request, f"{made} is in the records. Its feed map comes next.")
        return page_of(made)

    back = reverse("desk:ranges")
    return saved(request, form, act) or form_page(
        request, form, title="Add a model range", back=back, crumbs=[("Model ranges", back)]
    )
