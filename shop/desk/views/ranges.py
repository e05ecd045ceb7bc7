"""Model ranges: what is recorded once for all vehicles of a range."""

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from shop.desk.access import staff
from shop.desk.paging import page_of
from shop.desk.present import fuses, procedure
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.procedure import Procedure, tow_state
from vehicles.models import FeedMapRevision, ModelRange, ProcedureRevision, Vehicle

VEHICLES_SHOWN = 50


@staff
def ranges(request: HttpRequest) -> HttpResponse:
    """List the ranges with what is recorded for each."""
    page = page_of(request, ModelRange.objects.all())
    ids = [row.pk for row in page]
    current = Q(is_current=True, model_range__in=ids)
    maps = dict(FeedMapRevision.objects.filter(current).values_list("model_range", "number"))
    verdicts = {row.model_range_id: row for row in ProcedureRevision.objects.filter(current)}
    counted = Vehicle.objects.filter(model_range__in=ids).order_by().values("model_range")
    counts = {row["model_range"]: row["n"] for row in counted.annotate(n=Count("id"))}
    for row in page:
        row.map_number = maps.get(row.pk)
        row.procedure = verdicts.get(row.pk)
        row.vehicle_count = counts.get(row.pk, 0)
    return render(request, "desk/ranges.html", {"page": page, "here": "ranges"})


@staff
def model_range(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a range: its feed map, its procedure, its vehicles."""
    found = get_object_or_404(ModelRange, pk=pk)
    map_row = FeedMapRevision.objects.in_force_for_range(found)
    procedure_row = ProcedureRevision.objects.in_force_for_range(found)
    feed_map = FeedMap.from_dict(map_row.content if map_row else {})
    told = Procedure.from_dict(procedure_row.content) if procedure_row else None
    vehicles = Vehicle.objects.visible_to(request.user).filter(model_range=found)
    context = {
        "range": found,
        "crumbs": [{"label": "Ranges", "url": reverse("desk:ranges")}],
        "map_row": map_row,
        "procedure_row": procedure_row,
        "boxes": fuses.boxes_of_map(feed_map, tow_state(told, feed_map) if told else None),
        "feed_map": feed_map,
        "procedure": procedure.shown(told) if told else None,
        "vehicles": list(vehicles.select_related("standing")[:VEHICLES_SHOWN]),
        "vehicle_count": vehicles.count(),
    }
    return render(request, "desk/range.html", context)
