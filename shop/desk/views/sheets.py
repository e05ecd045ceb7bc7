"""Vehicle sheets: one out as a file, one in as an upload."""

import json

from django.contrib import messages
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.text import slugify

from installs.domain.sheet import SheetFaults
from shop.clock import today as shop_today
from shop.desk.access import keepers, staff
from shop.desk.actor import actor_of
from shop.desk.forms.sheet import SheetForm
from shop.desk.once import only_once
from shop.desk.saving import take_collision
from shop.people.models import Customer
from shop.sheets import load_sheet, sheet_of
from vehicles.models import Vehicle


@staff
def vehicle_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a towed vehicle's sheet as a JSON file."""
    rows = Vehicle.objects.visible_to(request.user).towed().select_related("model_range")
    vehicle = get_object_or_404(rows, pk=pk)
    name = slugify(f"{vehicle} {vehicle.plate}") or f"vehicle-{pk}"
    text = json.dumps(sheet_of(vehicle), ensure_ascii=False, indent=2) + "\n"
    response = HttpResponse(text, content_type="application/json")
    response["Content-Disposition"] = f'attachment; filename="{name}.json"'
    return response


@keepers
def sheet_import(request: HttpRequest) -> HttpResponse:
    """Take in a sheet for ``?customer=`` or for nobody; list every fault, save nothing half."""
    customer = _customer(request)
    form = SheetForm(request.POST or None, request.FILES or None)
    faults: list[dict[str, str]] = []
    if request.method == "POST" and form.is_valid():
        try:
            return HttpResponseRedirect(only_once(request, lambda: _taken_in(request, form)))
        except SheetFaults as error:
            faults = [{"place": f.place or "/", "sentence": f.sentence} for f in error.faults]
        except IntegrityError as error:
            take_collision(form, error)
    context = {
        "form": form,
        "faults": faults,
        "customer": customer,
        "crumbs": [{"label": "Vehicles", "url": reverse("desk:vehicles")}],
    }
    return render(request, "desk/sheet_import.html", context, status=422 if faults else 200)


def _taken_in(request: HttpRequest, form: SheetForm) -> str:
    """Load the sheet of a valid form; return the address of its vehicle."""
    vehicle = load_sheet(
        form.cleaned_data["document"],
        actor=actor_of(request),
        today=shop_today(),
        customer=_customer(request),
        since=form.cleaned_data["since"],
        why="taken in from a vehicle sheet",
    )
    messages.success(request, f"{vehicle} was taken in from its sheet.")
    return reverse("desk:vehicle", args=[vehicle.pk])


def _customer(request: HttpRequest) -> Customer | None:
    asked = request.GET.get("customer", "")
    if not asked:
        return None
    if not asked.isdecimal():
        raise Http404
    return get_object_or_404(Customer.objects.visible_to(request.user), pk=int(asked))
