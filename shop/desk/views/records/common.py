"""What the forms about vehicles share: fetching, the way up, and telling what a change raised."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.urls import reverse

from installs.models import Fitting, Reverification
from vehicles.models import ModelRange, Vehicle

NAMED = 6


def vehicle_of(request: HttpRequest, pk: int) -> Vehicle:
    """Return the vehicle, or 404 for those who may not see it."""
    rows = Vehicle.objects.visible_to(request.user).select_related("model_range")
    return get_object_or_404(rows, pk=pk)


def towed_of(request: HttpRequest, pk: int) -> Vehicle:
    """Return the towed vehicle; a motorhome has no such page."""
    vehicle = vehicle_of(request, pk)
    if vehicle.is_motorhome:
        raise Http404
    return vehicle


def fitting_of(request: HttpRequest, pk: int) -> Fitting:
    """Return the fitting of a part that is still fitted, or 404."""
    seen = Vehicle.objects.visible_to(request.user)
    rows = Fitting.objects.current().filter(vehicle__in=seen)
    return get_object_or_404(rows.select_related("component__kind", "vehicle__model_range"), pk=pk)


def whose_of(request: HttpRequest, whose: str, pk: int) -> ModelRange | Vehicle:
    """Return the model range or towed vehicle that a feed map or procedure belongs to."""
    if whose == "range":
        return get_object_or_404(ModelRange, pk=pk)
    return towed_of(request, pk)


def named(owner: ModelRange | Vehicle) -> dict[str, Any]:
    """Return the owner under the name by which services and tables take it."""
    return {"vehicle": owner} if isinstance(owner, Vehicle) else {"model_range": owner}


def in_force(revisions: Any, owner: ModelRange | Vehicle) -> Any | None:
    """Return the revision that the owner goes by now: a vehicle may go by its range's.

    `revisions` is the model of the revisions.
    """
    if isinstance(owner, Vehicle):
        return revisions.objects.in_force_for(owner)
    return revisions.objects.in_force_for_range(owner)


def page_of(owner: ModelRange | Vehicle) -> str:
    """Return the address of a range's or a vehicle's page."""
    return reverse(
        "desk:range" if isinstance(owner, ModelRange) else "desk:vehicle", args=[owner.pk]
    )


def crumbs_of(owner: ModelRange | Vehicle) -> list[tuple[str, str]]:
    """Return the way up from a page about this range or vehicle."""
    if isinstance(owner, ModelRange):
        return [("Model ranges", reverse("desk:ranges")), (str(owner), page_of(owner))]
    return [("Vehicles", reverse("desk:vehicles")), (str(owner), page_of(owner))]


@contextmanager
def telling_raised(request: HttpRequest, vehicle_ids: Iterable[int]) -> Iterator[None]:
    """Say afterwards which of these vehicles must newly be proven, and why."""
    ids = list(vehicle_ids)
    before = {row.pk: row.differences for row in _open(ids)}
    yield
    raised = [row for row in _open(ids) if before.get(row.pk) != row.differences]
    for row in raised[:NAMED]:
        again = " again" if row.proven else ""
        messages.warning(request, f"{row.vehicle} must be proven{again}: {told(row)}")
    if len(raised) > NAMED:
        messages.warning(request, f"And {len(raised) - NAMED} vehicles more; see the desk's list.")


def tell_open(request: HttpRequest, vehicle: Vehicle) -> None:
    """Say what a new vehicle's comparison with the customer's other one brought up."""
    for row in _open([vehicle.pk]):
        messages.warning(request, f"{vehicle} must be proven before it is towed: {told(row)}")


def told(row: Reverification) -> str:
    """Return the differences of a re-verification as one text."""
    return " ".join(row.differences)


def _open(ids: list[int]) -> Any:
    rows = Reverification.objects.to_prove().filter(vehicle__in=ids)
    return rows.with_proven().select_related("vehicle")
