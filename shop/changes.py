"""Changes that reach past their own floor: done, re-judged and re-planned in one transaction.

A new procedure revision makes proofs stale; a moved part moves its reminders; a sold vehicle ends
them. Screens, imports and the demo call these functions and never the lower services directly, so
that no change can forget what hangs on it. What slips through all the same (a hand in the
database) is found by the nightly judgement.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.measured import Measured
from installs.models import (
    Component,
    ComponentKind,
    Fitting,
    Inspection,
    Reverification,
    Verification,
)
from installs.services import inspections, parts, proof, signing
from shop.people import services as people
from shop.people.models import Consent, Customer, Ownership
from shop.reminders.services import refresh_customer, refresh_due
from vehicles import services as vehicles
from vehicles.models import FeedMapRevision, ModelRange, ProcedureRevision, Vehicle
from vehicles.records import Actor

Cause = Reverification.Cause


def settle(*, vehicle_ids: Iterable[int], cause: str, today: date, actor: Actor) -> None:
    """Judge these vehicles anew and bring their proofs and due items in line."""
    ids = sorted(set(vehicle_ids))
    if ids:
        proof.rejudge(vehicle_ids=ids, cause=cause, today=today, actor=actor)
        refresh_due(vehicle_ids=ids, today=today)


def of_range(model_range: ModelRange) -> list[int]:
    """Return the ids of the towed vehicles of a range."""
    return list(Vehicle.objects.filter(model_range=model_range).values_list("pk", flat=True))


@transaction.atomic
def add_vehicle(*, today: date, actor: Actor, why: str = "", **fields: Any) -> Vehicle:
    """Add a vehicle whose owner nobody knows yet."""
    vehicle = vehicles.add_vehicle(actor=actor, why=why, **fields)
    if vehicle.kind == Vehicle.Kind.TOWED:
        settle(vehicle_ids=[vehicle.pk], cause=Cause.VEHICLE_ADDED, today=today, actor=actor)
    return vehicle


@transaction.atomic
def add_vehicle_for_customer(
    *, customer: Customer, since: date, today: date, actor: Actor, why: str = "", **fields: Any
) -> Vehicle:
    """Add a vehicle that belongs to a customer.

    Where the customer has gear on another towed vehicle, the new one's procedure is compared with
    that one's and a re-verification is raised with the differences in words.
    """
    vehicle = vehicles.add_vehicle(actor=actor, why=why, **fields)
    people.start_ownership(customer=customer, vehicle=vehicle, since=since, actor=actor, why=why)
    if vehicle.kind == Vehicle.Kind.TOWED:
        compare_with_fleet(customer=customer, vehicle=vehicle, today=today, actor=actor)
        settle(vehicle_ids=[vehicle.pk], cause=Cause.VEHICLE_ADDED, today=today, actor=actor)
    return vehicle


def compare_with_fleet(
    *, customer: Customer, vehicle: Vehicle, today: date, actor: Actor
) -> Reverification | None:
    """Raise a re-verification where the customer's gear meets another procedure on `vehicle`."""
    others = (
        Vehicle.objects.towed()
        .filter(
            ownerships__customer=customer,
            ownerships__until__isnull=True,
            fittings__until__isnull=True,
            fittings__isnull=False,
        )
        .exclude(pk=vehicle.pk)
        .distinct()
    )
    equipped = others.first()
    if equipped is None:
        return None
    return proof.compare_vehicles(old=equipped, new=vehicle, today=today, actor=actor)


@transaction.atomic
def change_vehicle(
    *,
    vehicle: Vehicle,
    changes: Mapping[str, Any],
    version: int,
    today: date,
    actor: Actor,
    why: str = "",
) -> Vehicle:
    """Change a vehicle; another range can mean another feed map and procedure."""
    fresh = vehicles.change_vehicle(
        vehicle=vehicle, changes=changes, version=version, actor=actor, why=why
    )
    if fresh.kind == Vehicle.Kind.TOWED:
        settle(vehicle_ids=[fresh.pk], cause=Cause.PROCEDURE, today=today, actor=actor)
    return fresh


@transaction.atomic
def revise_procedure(
    *,
    content: dict[str, Any],
    today: date,
    actor: Actor,
    model_range: ModelRange | None = None,
    vehicle: Vehicle | None = None,
    note: str = "",
    why: str = "",
) -> ProcedureRevision:
    """Add a procedure revision and settle every vehicle that goes by it."""
    revision = vehicles.revise_procedure(
        content=content, actor=actor, model_range=model_range, vehicle=vehicle, note=note, why=why
    )
    settle(
        vehicle_ids=_concerned(model_range, vehicle),
        cause=Cause.PROCEDURE,
        today=today,
        actor=actor,
    )
    return revision


@transaction.atomic
def revise_feed_map(
    *,
    content: dict[str, Any],
    today: date,
    actor: Actor,
    model_range: ModelRange | None = None,
    vehicle: Vehicle | None = None,
    note: str = "",
    why: str = "",
) -> FeedMapRevision:
    """Add a feed map revision and settle every vehicle that goes by it."""
    revision = vehicles.revise_feed_map(
        content=content, actor=actor, model_range=model_range, vehicle=vehicle, note=note, why=why
    )
    settle(
        vehicle_ids=_concerned(model_range, vehicle), cause=Cause.FEED_MAP, today=today, actor=actor
    )
    return revision


def _concerned(model_range: ModelRange | None, vehicle: Vehicle | None) -> list[int]:
    """Return the vehicles that a revision of a range or of one vehicle reaches."""
    if vehicle is not None:
        return [vehicle.pk]
    return of_range(model_range) if model_range is not None else []


@transaction.atomic
def change_kind(
    *,
    kind: ComponentKind,
    changes: Mapping[str, Any],
    version: int,
    today: date,
    actor: Actor,
    why: str = "",
) -> ComponentKind:
    """Change what a kind of part needs and settle every vehicle that carries one."""
    fresh = parts.change_kind(kind=kind, changes=changes, version=version, actor=actor, why=why)
    carrying = Fitting.objects.on_sheets().filter(component__kind=kind)
    settle(
        vehicle_ids=carrying.values_list("vehicle", flat=True),
        cause=Cause.KIND,
        today=today,
        actor=actor,
    )
    return fresh


@transaction.atomic
def change_component(
    *,
    component: Component,
    changes: Mapping[str, Any],
    version: int,
    today: date,
    actor: Actor,
    why: str = "",
) -> Component:
    """Correct what is known of a part; another date code moves what is due."""
    fresh = parts.change_component(
        component=component, changes=changes, version=version, actor=actor, why=why
    )
    fitted = Fitting.objects.on_sheets().filter(component=component)
    settle(
        vehicle_ids=fitted.values_list("vehicle", flat=True),
        cause=Cause.FITTING,
        today=today,
        actor=actor,
    )
    return fresh


@transaction.atomic
def fit_component(
    *, component: Component, vehicle: Vehicle, today: date, actor: Actor, **fields: Any
) -> Fitting:
    """Fit a component; see `installs.services.parts.fit_component`."""
    fitting = parts.fit_component(component=component, vehicle=vehicle, actor=actor, **fields)
    settle(vehicle_ids=[vehicle.pk], cause=Cause.FITTING, today=today, actor=actor)
    return fitting


@transaction.atomic
def change_fitting(
    *,
    fitting: Fitting,
    changes: Mapping[str, Any],
    version: int,
    today: date,
    actor: Actor,
    why: str = "",
) -> Fitting:
    """Change a fitting's place or feeds."""
    fresh = parts.change_fitting(
        fitting=fitting, changes=changes, version=version, actor=actor, why=why
    )
    settle(vehicle_ids=[fitting.vehicle_id], cause=Cause.FITTING, today=today, actor=actor)
    return fresh


@transaction.atomic
def remove_component(*, fitting: Fitting, today: date, actor: Actor, **fields: Any) -> Fitting:
    """Take a component off its vehicle."""
    ended = parts.remove_component(fitting=fitting, actor=actor, **fields)
    settle(vehicle_ids=[fitting.vehicle_id], cause=Cause.FITTING, today=today, actor=actor)
    return ended


@transaction.atomic
def move_component(
    *, fitting: Fitting, vehicle: Vehicle, today: date, actor: Actor, **fields: Any
) -> Fitting:
    """Move a component to another vehicle; both are judged anew."""
    both = [fitting.vehicle_id, vehicle.pk]
    owners = Ownership.objects.current().filter(vehicle__in=both).values_list("customer", flat=True)
    moved = parts.move_component(
        fitting=fitting,
        vehicle=vehicle,
        actor=actor,
        # A shared unit comes back to a car of the same household, not from a stranger's.
        set_up_stays=len(owners) == len(both) and len(set(owners)) == 1,
        **fields,
    )
    settle(vehicle_ids=both, cause=Cause.FITTING, today=today, actor=actor)
    return moved


@transaction.atomic
def sign_verification(
    *,
    vehicle: Vehicle,
    measured: Sequence[Measured],
    proven_on: date,
    today: date,
    actor: Actor,
    note: str = "",
    fingerprint: str | None = None,
) -> Verification:
    """Sign a proof; see `installs.services.signing.sign_verification`."""
    signed = signing.sign_verification(
        vehicle=vehicle,
        measured=measured,
        proven_on=proven_on,
        today=today,
        actor=actor,
        note=note,
        shown=fingerprint,
    )
    settle(vehicle_ids=[vehicle.pk], cause=Cause.NIGHTLY, today=today, actor=actor)
    return signed


@transaction.atomic
def record_inspection(*, vehicle: Vehicle, today: date, actor: Actor, **fields: Any) -> Inspection:
    """Record an inspection, judge what it found or cured, and re-plan what it satisfies.

    A part stands on every vehicle that it is set up on, so all of them are judged.
    """
    look = inspections.record_inspection(vehicle=vehicle, actor=actor, **fields)
    set_up = Fitting.objects.on_sheets().filter(component=look.component_id or 0)
    ids = {vehicle.pk, *set_up.values_list("vehicle", flat=True)}
    settle(vehicle_ids=ids, cause=Cause.INSPECTION, today=today, actor=actor)
    return look


@transaction.atomic
def report_outside_work(*, vehicle: Vehicle, told: str, today: date, actor: Actor) -> None:
    """Brake or electrical work was done elsewhere: the proof no longer stands, whatever it says."""
    if not told.strip():
        raise ValidationError({"told": "Say what was done, by whom and when."})
    proof.doubt_proof(vehicle=vehicle, told=told, today=today, actor=actor)
    refresh_due(vehicle_ids=[vehicle.pk], today=today)


@transaction.atomic
def change_customer(*, customer: Customer, today: date, actor: Actor, **fields: Any) -> Customer:
    """Change a customer; another address or zone changes what can be said, and when."""
    fresh = people.change_customer(customer=customer, actor=actor, **fields)
    refresh_customer(customer_id=fresh.pk, today=today)
    return fresh


@transaction.atomic
def set_consent(*, customer: Customer, today: date, actor: Actor, **fields: Any) -> Consent:
    """Record what a customer said about a category; reminders stop or go on accordingly."""
    consent = people.set_consent(customer=customer, actor=actor, **fields)
    refresh_customer(customer_id=customer.pk, today=today)
    return consent


@transaction.atomic
def end_ownership(
    *, ownership: Ownership, until: date, why: str, today: date, actor: Actor
) -> Ownership:
    """The customer no longer has the vehicle: reminders for it stop."""
    ended = people.end_ownership(ownership=ownership, until=until, why=why, actor=actor)
    refresh_due(vehicle_ids=[ownership.vehicle_id], today=today)
    return ended


@transaction.atomic
def start_ownership(
    *,
    customer: Customer,
    vehicle: Vehicle,
    since: date,
    today: date,
    actor: Actor,
    why: str = "",
) -> Ownership:
    """The vehicle is the customer's from now on: its reminders go to them."""
    begun = people.start_ownership(
        customer=customer, vehicle=vehicle, since=since, actor=actor, why=why
    )
    if vehicle.kind == Vehicle.Kind.TOWED:
        compare_with_fleet(customer=customer, vehicle=vehicle, today=today, actor=actor)
    refresh_due(vehicle_ids=[vehicle.pk], today=today)
    return begun
