"""Parts: the list, and the life of one over every vehicle that carried it."""

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from installs.domain.looks import look_findings
from installs.models import Component, ComponentKind, Fitting, Inspection
from installs.reads import seen_look
from shop.desk.access import staff
from shop.desk.paging import page_of
from shop.desk.present import findings, happened
from shop.people.reads import owners_of
from vehicles.models import Event

EVENTS_SHOWN = 20


@staff
def components(request: HttpRequest) -> HttpResponse:
    """List the parts; ``?state=`` and ``?kind=`` narrow them."""
    rows = Component.objects.visible_to(request.user).select_related("kind")
    state, kind = request.GET.get("state", ""), request.GET.get("kind", "")
    if state in Component.State.values:
        rows = rows.filter(state=state)
    if kind:
        rows = rows.filter(kind__slug=kind)
    page = page_of(request, rows)
    current = Fitting.objects.current().filter(component__in=[row.pk for row in page])
    places = {row.component_id: row.vehicle for row in current.select_related("vehicle")}
    for row in page:
        row.vehicle = places.get(row.pk)
    context = {
        "page": page,
        "state": state,
        "states": Component.State.choices,
        "kind": kind,
        "kinds": list(ComponentKind.objects.values_list("slug", "name")),
        "here": "components",
    }
    return render(request, "desk/components.html", context)


@staff
def component(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one part: what it is, where it was, how it did."""
    rows = Component.objects.visible_to(request.user).select_related("kind")
    found = get_object_or_404(rows, pk=pk)
    fittings = list(Fitting.objects.filter(component=found).select_related("vehicle"))
    current = next((fitting for fitting in fittings if fitting.until is None), None)
    looks = Inspection.objects.filter(component=found).select_related("check_done", "vehicle")
    trouble = look_findings(
        [seen_look(look) for look in looks.standing_trouble()],
        part=found.kind.name, duty=found.kind.duty, component="",
    )  # fmt: skip
    about = Q(subject_type="component", subject_id=pk)
    about |= Q(subject_type="fitting", subject_id__in=[fitting.pk for fitting in fittings])
    context = {
        "component": found,
        "crumbs": [{"label": "Parts", "url": reverse("desk:components")}],
        "facts": [
            {"label": "Kind", "value": found.kind.name},
            {"label": "Maker and model", "value": found.maker_model},
            {"label": "Serial", "value": found.serial, "figure": True},
            {"label": "Lot", "value": found.lot, "figure": True},
            {"label": "Date code", "value": found.date_code_typed, "figure": True},
        ],
        "current": current,
        "findings": findings.rows(list(trouble), {"": current} if current else {}),
        "owned": owners_of([current.vehicle_id]).get(current.vehicle_id) if current else None,
        "fittings": fittings,
        "looks": list(looks),
        "events": happened.events(Event.objects.filter(about)[:EVENTS_SHOWN]),
    }
    return render(request, "desk/component.html", context)
