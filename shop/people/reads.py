"""What the screens read of customers across tables."""

from collections.abc import Iterable

from .models import Ownership


def owners_of(vehicle_ids: Iterable[int]) -> dict[int, Ownership]:
    """Return who owns these vehicles now, with customer and phones, by the vehicle's id."""
    current = Ownership.objects.current().filter(vehicle__in=list(vehicle_ids))
    rows = current.select_related("customer").prefetch_related("customer__phones")
    return {row.vehicle_id: row for row in rows}
