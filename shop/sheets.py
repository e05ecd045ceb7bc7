"""Vehicle sheets in and out of the records.

`load_sheet` turns one document (see installs/domain/sheet.py) into rows, all of it or nothing;
`sheet_of` writes a vehicle of the records as such a document. Beyond the form that the sheet's
own schema describes, two `about` groups are used: of a vehicle `colour`, `note`, `weight_kind`,
`weighed_on` and `own` (a list of `feed_map`, `procedure`: the vehicle's own correction, which is
not to be taken for its range); of a fitting `since`, `maker_model` and `note`.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.datecodes import parse_date_code
from installs.domain.looks import SeenLook
from installs.domain.sheet import Fitting, Sheet, SheetFaults, sheet_faults
from installs.models import Check, Component, ComponentKind, Reverification
from installs.models import Fitting as FittedPart
from installs.reads import looks_at_vehicles, sheet_document, with_looks
from installs.services import parts
from installs.services.checks import add_check
from installs.services.inspections import record_inspection
from shop import changes
from shop.people.models import Customer
from shop.sheet_checks import WEIGHTS, exact_range, faults_against_records
from vehicles import services as vehicles
from vehicles.domain.faults import Fault
from vehicles.models import FeedMapRevision, ModelRange, ProcedureRevision, Vehicle
from vehicles.records import Actor

IDENTITY = ("vin", "plate", "make", "model", "year", "engine", "gearbox", "drive")
KIND_ABOUT = ("role", "life_years", "life_basis", "wears", "note")


@dataclass(frozen=True)
class _Load:
    """One sheet on its way into the records, and who brings it."""

    sheet: Sheet
    actor: Actor
    today: date
    why: str

    @property
    def own(self) -> frozenset[str]:
        """Which documents are the vehicle's own correction."""
        return frozenset(self.sheet.vehicle.get("about", {}).get("own", ()))


def load_sheet(
    document: object,
    *,
    actor: Actor,
    today: date,
    customer: Customer | None = None,
    since: date | None = None,
    why: str = "",
) -> Vehicle:
    """Add the vehicle of a sheet to the records, with all that the sheet says of it.

    The range, kinds and parts that the records hold already are used; the others are added. A
    feed map or procedure that differs from what the range has becomes the vehicle's own, so that
    no other vehicle is changed by it. `since` is the day from which the vehicle belongs to
    `customer` and its parts are fitted, where the sheet gives no day (default: `today`).

    Raises SheetFaults with every fault and its place; nothing is saved then.
    """
    faults = sheet_faults(document)
    if faults:
        raise SheetFaults(faults)
    sheet = Sheet.from_dict(document)  # type: ignore[arg-type]
    load = _Load(sheet, actor, today, why)
    with transaction.atomic():
        faults = faults_against_records(sheet, today=today)
        if faults:
            raise SheetFaults(faults)
        model_range = _range(load)
        kinds = {code: _kind(load, code) for code in sheet.kinds}
        vehicle = _vehicle(load, model_range, customer, since or today)
        _documents(load, vehicle=vehicle)
        for at, fitting in enumerate(sheet.fittings):
            with _placed(f"/fittings/{at}"):
                _fit(load, fitting, kinds[fitting.kind], vehicle, since or today)
        _looks(load, sheet.looks, vehicle, None)
        changes.settle(
            vehicle_ids=[vehicle.pk],
            cause=Reverification.Cause.VEHICLE_ADDED,
            today=today,
            actor=actor,
        )
    return vehicle


@contextmanager
def _placed(place: str) -> Iterator[None]:
    """Turn what a service refuses into faults of the sheet at `place`."""
    try:
        yield
    except ValidationError as error:
        named = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
        raise SheetFaults(
            Fault(f"{place}/{field}".rstrip("/"), sentence)
            for field, sentences in named.items()
            for sentence in sentences
        ) from error


def _range(load: _Load) -> ModelRange | None:
    """Return the sheet's range, added with its documents where the records have none of it."""
    if not load.sheet.range:
        return None
    model_range = exact_range(load.sheet.range)
    if model_range is None:
        with _placed("/range"):
            model_range = vehicles.add_model_range(
                actor=load.actor, why=load.why, **load.sheet.range
            )
    _documents(load, model_range=model_range)
    return model_range


def _documents(
    load: _Load, *, model_range: ModelRange | None = None, vehicle: Vehicle | None = None
) -> None:
    """Write procedure and feed map where they belong, and only where they say something new."""
    sheet = load.sheet
    whose: dict[str, Any] = {"model_range": model_range, "vehicle": vehicle}
    said: dict[str, Any] = {"actor": load.actor, "why": load.why, "today": load.today, **whose}
    earlier = [procedure.to_dict() for procedure in sheet.earlier_procedures]
    writes_procedure = _belongs(load, ProcedureRevision, "procedure", **whose)
    # Superseded revisions may name fuses that the map no longer has, so they go first.
    if writes_procedure and not ProcedureRevision.objects.filter(**whose).exists():
        for content in earlier:
            with _placed("/earlier_procedures"):
                changes.revise_procedure(content=content, **said)
    if _belongs(load, FeedMapRevision, "feed_map", **whose):
        with _placed("/feed_map"):
            changes.revise_feed_map(content=sheet.feed_map.to_dict(), **said)
    if writes_procedure:
        with _placed("/procedure"):
            changes.revise_procedure(content=sheet.procedure.to_dict(), **said)


def _belongs(
    load: _Load, model: Any, name: str, *, model_range: ModelRange | None, vehicle: Vehicle | None
) -> bool:
    """Tell whether this document is to be written for this range, or for this vehicle."""
    content = getattr(load.sheet, name).to_dict()
    if not content:
        return False
    if vehicle is None:
        return name not in load.own and not model.objects.filter(model_range=model_range).exists()
    in_force = model.objects.in_force_for(vehicle)
    return in_force is None or in_force.content != content


def _kind(load: _Load, code: str) -> ComponentKind:
    """Return the kind of this code, added where the records have none."""
    known = ComponentKind.objects.filter(slug=code).first()
    if known is not None:
        return known
    kind = load.sheet.kinds[code]
    document = kind.to_dict()
    about = {name: kind.about[name] for name in KIND_ABOUT if name in kind.about}
    with _placed(f"/kinds/{code}"):
        return parts.add_kind(
            actor=load.actor,
            why=load.why,
            slug=code,
            name=kind.name,
            ports=document.get("ports", []),
            cures=list(kind.cures),
            cure_text=kind.cure_text,
            duty=kind.duty,
            **about,
        )


def _vehicle(
    load: _Load, model_range: ModelRange | None, customer: Customer | None, since: date
) -> Vehicle:
    told, about = load.sheet.vehicle, load.sheet.vehicle.get("about", {})
    fields: dict[str, Any] = {
        "kind": Vehicle.Kind.TOWED,
        "model_range": model_range,
        **{name: told[name] for name in IDENTITY if told.get(name)},
        **{name: about[name] for name in ("colour", "note", "weight_kind") if about.get(name)},
    }
    if about.get("weighed_on"):
        fields["weighed_on"] = date.fromisoformat(about["weighed_on"])
    for name, value in told.get("weights", {}).items():
        if value is not None:
            fields[name] = Decimal(str(value))
    with _placed("/vehicle"):
        if customer is None:
            return vehicles.add_vehicle(actor=load.actor, why=load.why, **fields)
        return changes.add_vehicle_for_customer(
            customer=customer,
            since=since,
            today=load.today,
            actor=load.actor,
            why=load.why,
            **fields,
        )


def _fit(load: _Load, fitting: Fitting, kind: ComponentKind, vehicle: Vehicle, since: date) -> None:
    """Take the part in where the records do not have it, and fit it."""
    about = fitting.about
    known = Component.objects.filter(kind=kind, serial=fitting.serial).first()
    component = known if known and fitting.serial else _take_in(load, fitting, kind)
    day = about.get("since")
    # Not through `changes`: the whole sheet is judged once, after its last part.
    fitted = parts.fit_component(
        component=component,
        vehicle=vehicle,
        since=date.fromisoformat(day) if day else since,
        actor=load.actor,
        place=fitting.mounted,
        ports=fitting.ports.to_dict(),
        note=about.get("note", ""),
        why=load.why,
    )
    _looks(load, fitting.looks, vehicle, fitted)


def _looks(
    load: _Load, looks: Iterable[SeenLook], vehicle: Vehicle, fitted: FittedPart | None
) -> None:
    """Take in what looks at a part, or at the vehicle, found; a check that is new is added."""
    for look in looks:
        check = Check.objects.filter(slug=look.check).first() or add_check(
            slug=look.check, name=look.name or look.check, asks="", actor=load.actor, why=load.why
        )
        record_inspection(
            vehicle=vehicle,
            check=check,
            done_on=look.day,
            result=look.result,
            actor=load.actor,
            fitting=fitted,
            elsewhere=True,
            by=f"a sheet taken in by {load.actor.name}"[:150],
            why=load.why,
        )


def _take_in(load: _Load, fitting: Fitting, kind: ComponentKind) -> Component:
    made = fitting.date_code and parse_date_code(fitting.date_code, today=load.today)
    return parts.add_component(
        actor=load.actor,
        why=load.why,
        kind=kind,
        maker_model=fitting.about.get("maker_model", ""),
        serial=fitting.serial,
        lot=fitting.lot,
        date_code=made or None,
        date_code_typed=fitting.date_code,
    )


def sheet_of(vehicle: Vehicle) -> dict[str, Any]:
    """Return a towed vehicle's sheet as its document, earlier procedures included."""
    maps = FeedMapRevision.objects.in_force_for(vehicle)
    procedure = ProcedureRevision.objects.in_force_for(vehicle)
    fittings = FittedPart.objects.on_sheets().filter(vehicle=vehicle).order_by("id")
    parts_with_looks = with_looks(fittings).select_related("component__kind")
    document = sheet_document(
        vehicle,
        feed_map=maps.content if maps else None,
        procedure=procedure.content if procedure else None,
        fittings=parts_with_looks,
        catalogue=ComponentKind.objects.exclude(cures=[]),
        looks=looks_at_vehicles([vehicle.pk]).get(vehicle.pk, ()),
    )
    _tell_of_vehicle(document["vehicle"], vehicle, maps, procedure)
    for entry, fitting in zip(document["fittings"], fittings, strict=True):
        entry["about"] = _about(
            since=fitting.since.isoformat(),
            maker_model=fitting.component.maker_model,
            note=fitting.note,
        )
    if procedure is not None:
        earlier = ProcedureRevision.objects.filter(
            vehicle=procedure.vehicle,
            model_range=procedure.model_range,
            number__lt=procedure.number,
        ).order_by("number")
        document["earlier_procedures"] = [revision.content for revision in earlier]
    return document


def _tell_of_vehicle(told: dict[str, Any], vehicle: Vehicle, *revisions: Any) -> None:
    own = [
        "feed_map" if isinstance(revision, FeedMapRevision) else "procedure"
        for revision in revisions
        if revision is not None and revision.vehicle_id is not None
    ]
    about = _about(
        colour=vehicle.colour,
        note=vehicle.note,
        weight_kind=vehicle.weight_kind,
        weighed_on=vehicle.weighed_on.isoformat() if vehicle.weighed_on else "",
        own=own if vehicle.model_range_id else [],
    )
    weights = {name: getattr(vehicle, name) for name in WEIGHTS}
    told["weights"] = {name: float(value) for name, value in weights.items() if value is not None}
    told["about"] = about


def _about(**told: Any) -> Mapping[str, Any]:
    return {name: value for name, value in told.items() if value}
