"""The tow sheet of a combination, and what is measured on it as it stands hitched."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from shop.clock import today
from shop.desk.access import staff
from shop.desk.actor import actor_of
from shop.desk.forms.combination import HitchForm
from shop.desk.forms.leg import LegForm
from shop.desk.pictures import fuse_grid
from shop.desk.present import fuses, procedure, tow
from shop.desk.saving import form_page, saved
from shop.desk.vehicle_reads import latest_readings, read_towed, vehicle_with_owner
from shop.units_shown import MASS, system_of
from vehicles import services
from vehicles.models import Combination, Vehicle

USUAL_LEG_H = 6


def _pair(request: HttpRequest, pk: int) -> Combination:
    seen = Vehicle.objects.visible_to(request.user)
    rows = Combination.objects.filter(towed__in=seen, motorhome__in=seen)
    return get_object_or_404(rows.select_related("motorhome", "towed"), pk=pk)


@staff
def tow_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how a combination hangs together; ``?leg=`` is the longest drive in hours."""
    pair = _pair(request, pk)
    page = read_towed(vehicle_with_owner(request.user).get(pk=pair.towed_id))
    form = LegForm(request.GET if "leg" in request.GET else {"leg": str(USUAL_LEG_H)})
    leg = form.hours
    units = system_of(request.user)
    unit = MASS[units]
    combined = tow.combined_of(pair, page, unit=unit)
    readings = tow.readings_of(latest_readings(pair.towed))
    boxes = fuses.boxes(page.now.sheet, page.now.judgement.views.states["tow"])
    context = {
        "pair": pair,
        "form": form,
        "combined": combined,
        "chain": tow.picture(combined, unit=unit),
        "ratings": tow.rating_rows(pair, page),
        "hitch": tow.hitch_lines(pair, page.limits, units=units),
        "tow": tow.lasting_in_tow(page, readings, leg_h=leg),
        "hold": tow.lasting_hold(page, readings),
        "grids": [fuse_grid.draw(box) for box in boxes],
        "not_towed": procedure.not_towed(page.now.sheet.procedure),
        "crumbs": _crumbs(pair),
    }
    return render(request, "desk/tow_sheet.html", context)


def _crumbs(pair: Combination) -> list[dict[str, str]]:
    return [
        {"label": "Vehicles", "url": reverse("desk:vehicles")},
        {"label": str(pair.towed), "url": reverse("desk:vehicle", args=[pair.towed_id])},
    ]


@staff
def hitch_measure(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what lies between coach and car, and how long it is."""
    pair = _pair(request, pk)
    form = HitchForm(request.POST or None, today=today(), record=pair)
    back = reverse("desk:tow_sheet", args=[pk])

    def act() -> str:
        changes: dict[str, Any] = form.columns
        services.measure_combination(
            combination=pair,
            changes=changes,
            version=form.cleaned_data["version"] or 0,
            actor=actor_of(request),
            why=form.cleaned_data["why"],
        )
        messages.success(request, f"Measured as hitched: {pair}.")
        return back

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"As hitched: {pair}",
        back=back,
        crumbs=[(crumb["label"], crumb["url"]) for crumb in _crumbs(pair)],
        context={"lead": "Coupled, on level ground, ready to leave. Empty is not measured."},
    )
