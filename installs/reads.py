"""Reading across tables: everything the judgement of one vehicle, or of many, needs."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Q

from vehicles.domain.procedure import NOT_ESTABLISHED
from vehicles.models import FeedMapRevision, ModelRange, ProcedureRevision, Vehicle

from .domain.sheet import Sheet
from .models import ComponentKind, Fitting


def component_name(fitting: Fitting) -> str:
    """Return the name that a component goes by on a sheet and in a proof: it never changes."""
    return f"c{fitting.component_id}"


def kind_document(kind: ComponentKind) -> dict[str, Any]:
    """Return a kind in the form of `Kind.from_dict`."""
    document: dict[str, Any] = {"name": kind.name, "ports": kind.ports, "cures": kind.cures}
    if kind.cure_text:
        document["cure_text"] = kind.cure_text
    return document


def sheet_document(
    vehicle: Vehicle,
    *,
    feed_map: dict[str, Any] | None,
    procedure: dict[str, Any] | None,
    fittings: Iterable[Fitting],
    catalogue: Iterable[ComponentKind] = (),
) -> dict[str, Any]:
    """Return the vehicle sheet as its JSON document."""
    fittings = list(fittings)
    kinds = {fitting.component.kind.slug: fitting.component.kind for fitting in fittings}
    kinds.update({kind.slug: kind for kind in catalogue})
    document: dict[str, Any] = {
        "pullpin_sheet": 1,
        "vehicle": _identity(vehicle),
        "feed_map": feed_map or {},
        "procedure": procedure or {"verdict": NOT_ESTABLISHED},
        "kinds": {slug: kind_document(kind) for slug, kind in kinds.items()},
        "fittings": [_fitting(fitting) for fitting in fittings],
    }
    if vehicle.model_range is not None:
        document["range"] = _range(vehicle.model_range)
    return document


def _fitting(fitting: Fitting) -> dict[str, Any]:
    component = fitting.component
    told = {
        "serial": component.serial,
        "lot": component.lot,
        "date_code": component.date_code_typed,
        "mounted": fitting.place,
    }
    return {
        "id": component_name(fitting),
        "kind": component.kind.slug,
        **{name: text for name, text in told.items() if text},
        "ports": fitting.ports,
    }


def _identity(vehicle: Vehicle) -> dict[str, Any]:
    told = {
        "name": str(vehicle),
        "make": vehicle.make,
        "model": vehicle.model,
        "year": vehicle.year,
        "engine": vehicle.engine,
        "gearbox": vehicle.gearbox,
        "drive": vehicle.drive,
        "vin": vehicle.vin,
        "plate": vehicle.plate,
    }
    return {name: value for name, value in told.items() if value}


def _range(model_range: ModelRange) -> dict[str, Any]:
    told = {
        "make": model_range.make,
        "model": model_range.model,
        "year_from": model_range.year_from,
        "year_to": model_range.year_to,
        "engine": model_range.engine,
        "gearbox": model_range.gearbox,
        "drive": model_range.drive,
    }
    return {name: value for name, value in told.items() if value}


def sheets_of(vehicles: Iterable[Vehicle]) -> dict[int, Sheet]:
    """Return the sheet of each towed vehicle, by its id, in four queries however many they are.

    The catalogue of parts that could cure a finding rides along in every sheet.
    """
    vehicles = list(vehicles)
    ids = [vehicle.pk for vehicle in vehicles]
    ranges = {vehicle.model_range_id for vehicle in vehicles if vehicle.model_range_id}
    maps = _in_force(FeedMapRevision, ids, ranges)
    procedures = _in_force(ProcedureRevision, ids, ranges)
    fitted: dict[int, list[Fitting]] = {pk: [] for pk in ids}
    current = Fitting.objects.current().filter(vehicle__in=ids).order_by("id")
    for fitting in current.select_related("component__kind"):
        fitted[fitting.vehicle_id].append(fitting)
    catalogue = list(ComponentKind.objects.exclude(cures=[]))
    return {
        vehicle.pk: Sheet.from_dict(
            sheet_document(
                vehicle,
                feed_map=_content(maps, vehicle),
                procedure=_content(procedures, vehicle),
                fittings=fitted[vehicle.pk],
                catalogue=catalogue,
            )
        )
        for vehicle in vehicles
    }


def _in_force(model: Any, ids: list[int], ranges: set[int]) -> dict[tuple[str, int], Any]:
    rows = model.objects.current().filter(Q(vehicle__in=ids) | Q(model_range__in=ranges))
    found = {}
    for row in rows:
        key = ("vehicle", row.vehicle_id) if row.vehicle_id else ("range", row.model_range_id)
        found[key] = row
    return found


def _content(found: dict[tuple[str, int], Any], vehicle: Vehicle) -> dict[str, Any] | None:
    row = found.get(("vehicle", vehicle.pk)) or found.get(("range", vehicle.model_range_id or 0))
    return row.content if row else None
