"""Changing what is known of vehicles; each function is one transaction and one line in the log.

These functions know nothing of what is fitted. Screens and tasks call `shop.changes`, which calls
these and then re-judges and re-plans whatever the change reaches.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from .corrections import with_added
from .domain.feedmap import FeedMap
from .domain.hitch import Hitch
from .domain.mapcheck import validate_feed_map, validate_procedure
from .domain.normal import lookup_text
from .domain.procedure import Procedure
from .models import (
    Combination,
    FeedMapRevision,
    ModelRange,
    ProcedureRevision,
    Reading,
    Vehicle,
)
from .records import Actor, change_record, record_event

VEHICLE_FIELDS = (
    "kind",
    "vin",
    "plate",
    "make",
    "model",
    "year",
    "colour",
    "model_range",
    "engine",
    "gearbox",
    "drive",
    "chassis_make",
    "chassis_year",
    "coach_serial",
    "gcwr_kg",
    "hitch_rating_kg",
    "receiver_kg",
    "lamp_scheme",
    "gvwr_kg",
    "weight_kg",
    "weight_kind",
    "weighed_on",
    "battery_ah",
    "battery_type",
    "as_typed",
    "note",
)


def vehicle_lookup(vehicle: Vehicle) -> str:
    """Return the text that the search box looks through for this vehicle."""
    return lookup_text(
        words=(vehicle.make, vehicle.model, str(vehicle.year or ""), vehicle.colour),
        codes=(vehicle.vin, vehicle.plate, vehicle.coach_serial),
    )


def find_range(vehicle: Vehicle) -> ModelRange | None:
    """Return the one range that fits the vehicle, or None where none or several do."""
    fitting = ModelRange.objects.matching(
        make=vehicle.make,
        model=vehicle.model,
        year=vehicle.year,
        engine=vehicle.engine,
        gearbox=vehicle.gearbox,
        drive=vehicle.drive,
    )[:2]
    found = list(fitting)
    return found[0] if len(found) == 1 else None


@transaction.atomic
def add_vehicle(*, actor: Actor, why: str = "", **fields: Any) -> Vehicle:
    """Add a vehicle. A towed one is tied to its model range where exactly one fits."""
    vehicle = Vehicle(**fields)
    if vehicle.kind == Vehicle.Kind.TOWED and vehicle.model_range is None:
        vehicle.model_range = find_range(vehicle)
    vehicle.lookup = vehicle_lookup(vehicle)
    vehicle.full_clean(validate_constraints=True)
    vehicle.save(force_insert=True)
    record_event(
        actor=actor,
        verb="added vehicle",
        subject=vehicle,
        after={name: getattr(vehicle, name) for name in VEHICLE_FIELDS if getattr(vehicle, name)},
        why=why,
        vehicle_id=vehicle.pk,
    )
    return vehicle


@transaction.atomic
def change_vehicle(
    *, vehicle: Vehicle, changes: Mapping[str, Any], version: int, actor: Actor, why: str = ""
) -> Vehicle:
    """Change a vehicle's fields; raises `Clash` where it was changed since `version` was read.

    When what decides the model range changes and the range was not chosen by hand in the same
    change, the range is looked up anew: another engine or drive can mean another tow procedure.
    """
    draft = Vehicle.objects.get(pk=vehicle.pk)
    for name, value in changes.items():
        setattr(draft, name, value)
    extra: dict[str, Any] = {"lookup": vehicle_lookup(draft)}
    decisive = {"make", "model", "year", "engine", "gearbox", "drive"} & set(changes)
    if draft.kind == Vehicle.Kind.TOWED and decisive and "model_range" not in changes:
        draft.model_range = extra["model_range"] = find_range(draft)
    draft.full_clean(validate_constraints=True)
    return change_record(
        record=vehicle,
        changes={**changes, **extra},
        version=version,
        actor=actor,
        verb="changed vehicle",
        why=why,
        vehicle_id=vehicle.pk,
        quiet=frozenset({"lookup"}),
    )


@transaction.atomic
def add_model_range(*, actor: Actor, why: str = "", **fields: Any) -> ModelRange:
    """Add a model range."""
    model_range = ModelRange(**fields)
    model_range.full_clean()
    model_range.save(force_insert=True)
    record_event(actor=actor, verb="added model range", subject=model_range, after=fields, why=why)
    return model_range


@transaction.atomic
def revise_feed_map(
    *,
    content: dict[str, Any],
    actor: Actor,
    model_range: ModelRange | None = None,
    vehicle: Vehicle | None = None,
    note: str = "",
    why: str = "",
) -> FeedMapRevision:
    """Add a revision of a range's feed map, or of one vehicle's own.

    Raises ValidationError with every fault and its place; nothing is written then.
    """
    faults = validate_feed_map(content)
    if faults:
        raise ValidationError({"content": [str(fault) for fault in faults]})
    revision: FeedMapRevision = _add_revision(
        FeedMapRevision,
        content=FeedMap.from_dict(content).to_dict(),
        actor=actor,
        model_range=model_range,
        vehicle=vehicle,
        note=note,
        why=why,
        verb="revised feed map",
    )
    return revision


@transaction.atomic
def revise_procedure(
    *,
    content: dict[str, Any],
    actor: Actor,
    model_range: ModelRange | None = None,
    vehicle: Vehicle | None = None,
    note: str = "",
    why: str = "",
) -> ProcedureRevision:
    """Add a revision of a range's tow procedure, or of one vehicle's own.

    A step that names a fuse which the feed map lacks is refused with the list of fuses. Where no
    feed map exists yet the steps cannot be held against one, and the procedure is taken as it is.
    """
    maps = FeedMapRevision.objects
    current = maps.in_force_for(vehicle) if vehicle else maps.in_force_for_range(model_range)
    feed_map = FeedMap.from_dict(current.content) if current else None
    faults = validate_procedure(content, feed_map)
    if faults:
        raise ValidationError({"content": [str(fault) for fault in faults]})
    procedure = Procedure.from_dict(content)
    revision: ProcedureRevision = _add_revision(
        ProcedureRevision,
        content=procedure.to_dict(),
        actor=actor,
        model_range=model_range,
        vehicle=vehicle,
        note=note,
        why=why,
        verb="revised tow procedure",
        verdict=procedure.verdict,
        source_kind=procedure.source.kind,
    )
    return revision


def _add_revision(
    model: type[Any],
    *,
    content: dict[str, Any],
    actor: Actor,
    model_range: ModelRange | None,
    vehicle: Vehicle | None,
    note: str,
    why: str,
    verb: str,
    **columns: Any,
) -> Any:
    line = model.objects.filter(model_range=model_range, vehicle=vehicle)
    previous = line.first()
    if previous and previous.is_current and previous.content == content:
        return previous
    line.filter(is_current=True).update(is_current=False)
    revision = model.objects.create(
        model_range=model_range,
        vehicle=vehicle,
        number=previous.number + 1 if previous else 1,
        content=content,
        note=note,
        written_by=actor.name,
        **columns,
    )
    record_event(
        actor=actor,
        verb=verb,
        subject=revision,
        before={"number": previous.number, "content": previous.content} if previous else {},
        after={"number": revision.number, "content": content},
        why=why,
        vehicle_id=vehicle.pk if vehicle else None,
    )
    return revision


@transaction.atomic
def start_combination(
    *, motorhome: Vehicle, towed: Vehicle, since: date, actor: Actor, why: str = ""
) -> Combination:
    """Record that `motorhome` tows `towed` from `since` on."""
    if motorhome.kind != Vehicle.Kind.MOTORHOME:
        raise ValidationError({"motorhome": f"{motorhome} is not a motorhome."})
    if towed.kind != Vehicle.Kind.TOWED:
        raise ValidationError({"towed": f"{towed} is not a towed vehicle."})
    try:
        with transaction.atomic():
            pair = Combination.objects.create(motorhome=motorhome, towed=towed, since=since)
    except IntegrityError as error:
        raise ValidationError({"towed": f"{motorhome} already tows {towed}."}) from error
    record_event(
        actor=actor,
        verb="joined",
        subject=pair,
        after={"since": since},
        why=why,
        vehicle_id=towed.pk,
    )
    return pair


@transaction.atomic
def end_combination(
    *, combination: Combination, until: date, actor: Actor, why: str = ""
) -> Combination:
    """Record that a combination ended on `until`."""
    if until < combination.since:
        raise ValidationError({"until": f"It began on {combination.since}: it cannot end before."})
    if Combination.objects.filter(pk=combination.pk, until=None).update(until=until):
        record_event(
            actor=actor,
            verb="parted",
            subject=combination,
            after={"until": until},
            why=why,
            vehicle_id=combination.towed_id,
        )
    return Combination.objects.get(pk=combination.pk)


@transaction.atomic
def measure_combination(
    *,
    combination: Combination,
    changes: Mapping[str, Any],
    version: int,
    actor: Actor,
    why: str = "",
) -> Combination:
    """Record ratings and lengths of a combination as hitched; raises `Clash`.

    Raises ValidationError with a sentence per field where a figure cannot be, or where two of them
    contradict each other.
    """
    draft = Combination.objects.get(pk=combination.pk)
    for name, value in changes.items():
        setattr(draft, name, value)
    faults = Hitch.of(draft).faults()
    if faults:
        raise ValidationError(dict(faults))
    return change_record(
        record=combination,
        changes=changes,
        version=version,
        actor=actor,
        verb="measured as hitched",
        why=why,
        vehicle_id=combination.towed_id,
    )


@transaction.atomic
def add_reading(
    *,
    vehicle: Vehicle,
    what: str,
    value: Decimal,
    typed: str,
    on: date,
    actor: Actor,
    note: str = "",
) -> Reading:
    """Add a reading. A lower odometer than before is taken only with a reason in `note`."""
    before = with_added(vehicle.readings.filter(what=what, on__lte=on)).first()
    counts_up = what in (Reading.What.ODOMETER, Reading.What.TOWED)
    if counts_up and before and value < before.value + before.put_right and not note.strip():
        raise ValidationError(
            {
                "value": f"It stood at {before.typed} on {before.on}. Say in the note why it is "
                "lower now (instrument replaced, earlier reading wrong)."
            }
        )
    reading = Reading.objects.create(
        vehicle=vehicle, what=what, value=value, typed=typed, on=on, by=actor.name, note=note
    )
    record_event(
        actor=actor,
        verb="read",
        subject=reading,
        after={"what": what, "typed": typed, "on": on},
        why=note,
        vehicle_id=vehicle.pk,
    )
    return reading
