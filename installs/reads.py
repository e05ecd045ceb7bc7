"""Reading across tables: everything the judgement of one vehicle, or of many, needs."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Generic, TypeVar

from django.db.models import Q, QuerySet

from vehicles.domain.feedmap import FeedMap
from vehicles.domain.procedure import NOT_ESTABLISHED, Procedure
from vehicles.models import FeedMapRevision, ModelRange, ProcedureRevision, Vehicle

from .domain.looks import SeenLook
from .domain.ports import Kind
from .domain.sheet import Fitting as FittingOnSheet
from .domain.sheet import Sheet
from .models import ComponentKind, Fitting, Inspection
from .models.trouble import trouble_of_part, trouble_of_vehicle

Document = TypeVar("Document")


def component_name(fitting: Fitting) -> str:
    """Return the name that a component goes by on a sheet and in a proof: it never changes."""
    return f"c{fitting.component_id}"


def kind_document(kind: ComponentKind) -> dict[str, Any]:
    """Return a kind in the form of `Kind.from_dict`."""
    document: dict[str, Any] = {"name": kind.name, "ports": kind.ports, "cures": kind.cures}
    if kind.cure_text:
        document["cure_text"] = kind.cure_text
    if kind.duty:
        document["duty"] = kind.duty
    return document


def with_looks(fittings: QuerySet[Fitting]) -> QuerySet[Fitting]:
    """Add `looks`: what inspections found of each part that no later one has overtaken."""
    return fittings.annotate(looks=trouble_of_part())


def seen_look(look: Inspection) -> SeenLook:
    """Return an inspection as a sheet tells it."""
    check = look.check_done
    return SeenLook(check.slug, look.done_on.isoformat(), look.result, check.name)


def looks_at_vehicles(ids: Iterable[int]) -> dict[int, list[dict[str, Any]]]:
    """Return by vehicle what looks at it as a whole found that no later one has overtaken."""
    rows = Vehicle.objects.filter(pk__in=list(ids)).annotate(looks=trouble_of_vehicle())
    return {pk: looks for pk, looks in rows.values_list("pk", "looks") if looks}


def sheet_document(
    vehicle: Vehicle,
    *,
    feed_map: dict[str, Any] | None,
    procedure: dict[str, Any] | None,
    fittings: Iterable[Fitting],
    catalogue: Iterable[ComponentKind] = (),
    looks: Sequence[dict[str, Any]] = (),
) -> dict[str, Any]:
    """Return the vehicle sheet as its JSON document; `looks` are those at it as a whole."""
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
    if looks:
        document["looks"] = list(looks)
    if vehicle.model_range is not None:
        document["range"] = _range(vehicle.model_range)
    return document


def _fitting(fitting: Any) -> dict[str, Any]:
    """One fitted part. A proof binds the fitting too: taken off and put back is not as proven.

    Only a shared part, which comes and goes by its nature, is bound by its first fitting here. The
    rows come from `FittingQuerySet.on_sheets` or `with_first_here`, through `with_looks`.
    """
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
        **({"looks": fitting.looks} if fitting.looks else {}),
        "about": {"fitting": fitting.first_here if component.shared else fitting.pk},
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
    """Return the sheet of each towed vehicle, by its id, in five queries however many they are.

    Each equals `Sheet.from_dict` of its `sheet_document`; what vehicles share (the feed map and
    procedure of a range, the kinds) is read from its JSON form once. The catalogue of parts that
    could cure a finding rides along in every sheet.
    """
    vehicles = list(vehicles)
    ids = [vehicle.pk for vehicle in vehicles]
    ranges = {vehicle.model_range_id for vehicle in vehicles if vehicle.model_range_id}
    maps = _InForce(FeedMapRevision, ids, ranges, FeedMap.from_dict, {})
    procedures = _InForce(
        ProcedureRevision, ids, ranges, Procedure.from_dict, {"verdict": NOT_ESTABLISHED}
    )
    fitted: dict[int, list[Fitting]] = {pk: [] for pk in ids}
    set_up = with_looks(Fitting.objects.on_sheets().filter(vehicle__in=ids).order_by("id"))
    for fitting in set_up.select_related("component__kind"):
        fitted[fitting.vehicle_id].append(fitting)
    looks = looks_at_vehicles(ids)
    catalogue = list(ComponentKind.objects.exclude(cures=[]))
    kinds = {kind.slug: kind for kind in catalogue}
    for fittings in fitted.values():
        kinds.update({f.component.kind.slug: f.component.kind for f in fittings})
    read = {slug: Kind.from_dict(kind_document(kind), code=slug) for slug, kind in kinds.items()}
    offered = [kind.slug for kind in catalogue]
    return {
        vehicle.pk: Sheet(
            vehicle=_identity(vehicle),
            feed_map=maps.of(vehicle),
            procedure=procedures.of(vehicle),
            kinds={
                slug: read[slug]
                for slug in (*(f.component.kind.slug for f in fitted[vehicle.pk]), *offered)
            },
            fittings=tuple(
                FittingOnSheet.from_dict(_fitting(fitting)) for fitting in fitted[vehicle.pk]
            ),
            looks=tuple(SeenLook.from_dict(look) for look in looks.get(vehicle.pk, ())),
            range=_range(vehicle.model_range) if vehicle.model_range else {},
        )
        for vehicle in vehicles
    }


class _InForce(Generic[Document]):
    """The revisions in force for some vehicles and ranges, each read once."""

    def __init__(
        self,
        model: Any,
        ids: list[int],
        ranges: set[int],
        read: Callable[[dict[str, Any]], Document],
        without: dict[str, Any],
    ) -> None:
        rows = model.objects.current().filter(Q(vehicle__in=ids) | Q(model_range__in=ranges))
        self.found = {(row.vehicle_id, row.model_range_id): read(row.content) for row in rows}
        self.without = read(without)

    def of(self, vehicle: Vehicle) -> Document:
        """The vehicle's own, else its range's, else what says that there is none."""
        general = self.found.get((None, vehicle.model_range_id), self.without)
        if vehicle.model_range_id is None:
            general = self.without
        return self.found.get((vehicle.pk, None), general)
