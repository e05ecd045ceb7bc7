"""Everything the page of a towed vehicle shows, fetched with a fixed number of queries."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, F, FilteredRelation, OuterRef, Q, Subquery

from installs.domain.sheet import Sheet
from installs.models import ComponentKind, Fitting, Reverification, Verification
from installs.models.trouble import trouble_of_vehicle
from installs.reads import component_name, sheet_document, with_looks
from installs.services.judging import Judged, judged
from shop.people.models import Ownership, Phone
from shop.reminders.models import DueItem
from vehicles.corrections import with_added
from vehicles.domain.limit_set import START, Limits
from vehicles.domain.procedure import Procedure
from vehicles.models import (
    Combination,
    Event,
    FeedMapRevision,
    LimitVersion,
    ProcedureRevision,
    Reading,
    Vehicle,
)

EVENTS_SHOWN = 8
PROOFS_SHOWN = 3


@dataclass(frozen=True)
class TowedVehicle:
    """A towed vehicle as it stands in the records now, judged."""

    vehicle: Vehicle
    owned: Ownership | None
    asked: Reverification | None
    phone: str
    phone_e164: str
    feed_map: FeedMapRevision | None
    procedures: Sequence[ProcedureRevision]
    fittings: Sequence[Fitting]
    earlier_fittings: Sequence[Fitting]
    now: Judged
    limits: Limits
    proofs: Sequence[Verification]

    @property
    def procedure(self) -> ProcedureRevision | None:
        """The revision in force: the vehicle's own before that of its range."""
        return self.procedures[0] if self.procedures else None

    @property
    def by_name(self) -> dict[str, Fitting]:
        """The fitted parts by the name that the judgement uses."""
        return {component_name(fitting): fitting for fitting in self.fittings}

    @property
    def other_sources(self) -> list[tuple[ProcedureRevision, Procedure]]:
        """Procedures in force elsewhere that this vehicle does not go by: its range's."""
        return [(other, Procedure.from_dict(other.content)) for other in self.procedures[1:]]


def vehicle_with_owner(user: object) -> Any:
    """Return vehicles with owner, first phone, open re-verification and standing in one query."""
    phones = Phone.objects.filter(customer=OuterRef("owned__customer")).order_by("id")
    return (
        Vehicle.objects.visible_to(user)
        .annotate(
            owned=FilteredRelation("ownerships", condition=Q(ownerships__until__isnull=True)),
            asked=FilteredRelation("reverifications", condition=Q(reverifications__state="open")),
        )
        # The type plugin does not know that a filtered relation may be joined like any other.
        .select_related("model_range", "standing", "owned__customer", "asked")  # type: ignore[misc]
        .annotate(
            phone=Subquery(phones.values("typed")[:1]),
            phone_e164=Subquery(phones.values("e164")[:1]),
            looks=trouble_of_vehicle(),
            # Most shops leave the limits as they come, and need no query to learn it.
            limits_set=Exists(LimitVersion.objects.current()),
        )
    )


def read_towed(vehicle: Any) -> TowedVehicle:
    """Return a row of `vehicle_with_owner` with its documents and parts, judged: seven queries."""
    maps = _in_force(FeedMapRevision, vehicle)
    procedures = _in_force(ProcedureRevision, vehicle)
    fittings = list(
        with_looks(Fitting.objects.filter(vehicle=vehicle).with_first_here())
        .annotate(on_sheet=Exists(Fitting.objects.on_sheets().filter(pk=OuterRef("pk"))))
        .select_related("component__kind")
        .order_by("id")
    )
    current = [fitting for fitting in fittings if fitting.on_sheet]
    sheet = Sheet.from_dict(
        sheet_document(
            vehicle,
            feed_map=maps[0].content if maps else None,
            procedure=procedures[0].content if procedures else None,
            fittings=current,
            catalogue=ComponentKind.objects.exclude(cures=[]),
            looks=vehicle.looks,
        )
    )
    limits = LimitVersion.objects.in_force() if vehicle.limits_set else START
    proofs = proofs_of(vehicle)
    return TowedVehicle(
        vehicle=vehicle,
        # Where there is none, the joined relation is not set at all.
        owned=getattr(vehicle, "owned", None),
        asked=getattr(vehicle, "asked", None),
        phone=vehicle.phone or "",
        phone_e164=vehicle.phone_e164 or "",
        feed_map=maps[0] if maps else None,
        procedures=procedures,
        fittings=current,
        earlier_fittings=[fitting for fitting in fittings if not fitting.on_sheet],
        now=judged(sheet, limits=limits, proof=proofs[0] if proofs else None),
        limits=limits,
        proofs=proofs,
    )


def _in_force(model: Any, vehicle: Vehicle) -> list[Any]:
    """Return the current revisions of vehicle and range, the one that it goes by first."""
    whose = Q(vehicle=vehicle.pk)
    if vehicle.model_range_id:
        whose |= Q(model_range=vehicle.model_range_id)
    rows = model.objects.current().filter(whose)
    return list(rows.order_by(F("vehicle_id").asc(nulls_last=True)))


def proofs_of(vehicle: Vehicle) -> list[Verification]:
    """Return the latest proofs, newest first."""
    # The basis is long and is compared by its fingerprint only.
    return list(Verification.objects.filter(vehicle=vehicle).defer("basis")[:PROOFS_SHOWN])


def combinations_of(vehicle: Vehicle) -> list[Combination]:
    """Return what this vehicle is towed by or tows, now and before, current ones first."""
    towed = vehicle.kind == Vehicle.Kind.TOWED
    own, other = ("towed", "motorhome") if towed else ("motorhome", "towed")
    # Of the other vehicle only its name and plate are shown.
    names = [f"{other}__{name}" for name in ("make", "model", "year", "plate")]
    pairs = Combination.objects.filter(**{own: vehicle}).select_related(other)
    rows = pairs.only("since", "until", "motorhome_id", "towed_id", *names)
    return list(rows.order_by(F("until").desc(nulls_first=True), "-since"))


def open_dues(vehicle: Vehicle) -> list[DueItem]:
    """Return what is due on the vehicle, soonest first."""
    items = DueItem.objects.open().filter(vehicle=vehicle)
    rows = items.select_related("rule", "fitting__component__kind").only(
        "anchor_key",
        "due_on",
        "reason",
        "booked_for",
        "silence",
        "mails_sent",
        "vehicle_id",
        "rule__name",
        "fitting__component__serial",
        "fitting__component__kind__name",
    )
    return list(rows.order_by("due_on", "id"))


def latest_readings(vehicle: Vehicle) -> list[Reading]:
    """Return the newest reading of each sort."""
    newest: dict[str, Reading] = {}
    for reading in with_added(vehicle.readings.all())[:60]:
        newest.setdefault(reading.what, reading)
    return list(newest.values())


def events_of(vehicle: Vehicle) -> list[Event]:
    """Return the latest lines of the vehicle's log."""
    return list(Event.objects.of_vehicle(vehicle.pk)[:EVENTS_SHOWN])
