"""Components: taken in, fitted, rewired, moved, taken out. A move keeps history and drops proof."""

import copy
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.ports import Kind
from installs.domain.sheet import validate_kind, validate_ports
from installs.models import Component, ComponentKind, Fitting
from installs.reads import kind_document
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.normal import lookup_text
from vehicles.models import FeedMapRevision, Vehicle
from vehicles.records import Actor, change_record, record_event


def component_lookup(component: Component) -> str:
    """Return the text that the search box looks through for this component."""
    return lookup_text(
        words=(component.kind.name, component.maker_model), codes=(component.serial, component.lot)
    )


@transaction.atomic
def add_kind(*, actor: Actor, why: str = "", **fields: Any) -> ComponentKind:
    """Add a kind of component. Raises ValidationError with every fault in its ports."""
    kind = ComponentKind(**fields)
    _check_ports_of_kind(kind)
    # Checked just now; and a kind without any port (a base plate) is one all the same.
    kind.full_clean(exclude=["ports"])
    kind.save(force_insert=True)
    record_event(actor=actor, verb="added kind of part", subject=kind, after=fields, why=why)
    return kind


@transaction.atomic
def change_kind(
    *,
    kind: ComponentKind,
    changes: Mapping[str, Any],
    version: int,
    actor: Actor,
    why: str = "",
) -> ComponentKind:
    """Change what a kind needs; raises `Clash` where it was changed since `version` was read."""
    draft = copy.copy(kind)
    for name, value in changes.items():
        setattr(draft, name, value)
    _check_ports_of_kind(draft)
    draft.full_clean(exclude=["ports"])
    return change_record(
        record=kind,
        changes=changes,
        version=version,
        actor=actor,
        verb="changed kind of part",
        why=why,
    )


def _check_ports_of_kind(kind: ComponentKind) -> None:
    faults = validate_kind(kind_document(kind))
    if faults:
        raise ValidationError({"ports": [str(fault) for fault in faults]})


@transaction.atomic
def add_component(*, actor: Actor, why: str = "", **fields: Any) -> Component:
    """Take a component into the records; it starts on the shelf."""
    component = Component(**fields)
    component.lookup = component_lookup(component)
    component.full_clean()
    component.save(force_insert=True)
    record_event(actor=actor, verb="took in", subject=component, after=fields, why=why)
    return component


@transaction.atomic
def change_component(
    *,
    component: Component,
    changes: Mapping[str, Any],
    version: int,
    actor: Actor,
    why: str = "",
) -> Component:
    """Change what is known of a component (serial, lot, date code, state on the shelf)."""
    draft = Component.objects.select_related("kind").get(pk=component.pk)
    for name, value in changes.items():
        setattr(draft, name, value)
    draft.full_clean()
    fitting = Fitting.objects.on_sheets().filter(component=component).first()
    if fitting and draft.kind_id != component.kind_id:
        told = f"It is set up on {fitting.vehicle} as {component.kind}; take it off there first."
        raise ValidationError({"kind": told})
    return change_record(
        record=component,
        changes={**changes, "lookup": component_lookup(draft)},
        version=version,
        actor=actor,
        verb="changed part",
        why=why,
        vehicle_id=fitting.vehicle_id if fitting else None,
        quiet=frozenset({"lookup"}),
    )


def check_ports(*, kind: ComponentKind, ports: Mapping[str, Any], vehicle: Vehicle) -> None:
    """Raise ValidationError where `ports` names what the kind or the vehicle's feed map lacks."""
    current = FeedMapRevision.objects.in_force_for(vehicle)
    feed_map = FeedMap.from_dict(current.content if current else {})
    needs = Kind.from_dict(kind_document(kind), code=kind.slug)
    faults = validate_ports(dict(ports), needs, feed_map)
    if faults:
        raise ValidationError({"ports": [str(fault) for fault in faults]})


@transaction.atomic
def fit_component(
    *,
    component: Component,
    vehicle: Vehicle,
    since: date,
    actor: Actor,
    place: str = "",
    ports: Mapping[str, Any] | None = None,
    note: str = "",
    why: str = "",
) -> Fitting:
    """Record that a component is fitted to a vehicle from `since` on.

    Raises ValidationError where it is still fitted elsewhere (move it instead) or held back.
    """
    component = Component.objects.select_for_update().select_related("kind").get(pk=component.pk)
    elsewhere = Fitting.objects.current().filter(component=component).first()
    if elsewhere:
        raise ValidationError(
            {"component": f"{component} is fitted to {elsewhere.vehicle}. Move it from there."}
        )
    last = component.fittings.order_by("-until").first()
    if last and last.until and since < last.until:
        told = f"{component} was on {last.vehicle} until {last.until}: not here before that."
        raise ValidationError({"since": told})
    if component.state in (Component.State.HELD, Component.State.SCRAPPED):
        raise ValidationError(
            {"component": f"{component} is {component.get_state_display()} and may not be fitted."}
        )
    check_ports(kind=component.kind, ports=ports or {}, vehicle=vehicle)
    fitting = Fitting(
        component=component,
        vehicle=vehicle,
        since=since,
        place=place,
        ports=dict(ports or {}),
        note=note,
    )
    fitting.full_clean()
    fitting.save(force_insert=True)
    Component.objects.filter(pk=component.pk).update(state=Component.State.FITTED)
    record_event(
        actor=actor,
        verb="fitted",
        subject=fitting,
        after={"since": since, "place": place, "ports": fitting.ports},
        why=why,
        vehicle_id=vehicle.pk,
    )
    return fitting


@transaction.atomic
def change_fitting(
    *,
    fitting: Fitting,
    changes: Mapping[str, Any],
    version: int,
    actor: Actor,
    why: str = "",
) -> Fitting:
    """Change where a part is mounted or what its ports hang on."""
    if "ports" in changes:
        check_ports(kind=fitting.component.kind, ports=changes["ports"], vehicle=fitting.vehicle)
    return change_record(
        record=fitting,
        changes=changes,
        version=version,
        actor=actor,
        verb="rewired" if "ports" in changes else "changed fitting",
        why=why,
        vehicle_id=fitting.vehicle_id,
    )


@transaction.atomic
def note_on_fitting(*, fitting: Fitting, text: str, actor: Actor) -> Fitting:
    """Add a line to the note of a fitted part. What a proof binds is not touched by it."""
    current = Fitting.objects.select_for_update().get(pk=fitting.pk)
    return change_record(
        record=current,
        changes={"note": f"{current.note}\n{text}".strip()},
        version=current.version,
        actor=actor,
        verb="noted on part",
        vehicle_id=current.vehicle_id,
    )


@transaction.atomic
def remove_component(
    *,
    fitting: Fitting,
    until: date,
    actor: Actor,
    why: str,
    wiring_left_in: bool = False,
    becomes: str = Component.State.REMOVED,
) -> Fitting:
    """Record that a part came off its vehicle on `until`."""
    if until < fitting.since:
        raise ValidationError(
            {"until": f"It was fitted on {fitting.since}: it cannot have come off before."}
        )
    ended = Fitting.objects.filter(pk=fitting.pk, until=None).update(
        until=until, why_ended=why, wiring_left_in=wiring_left_in
    )
    if not ended:
        raise ValidationError({"until": "It has been taken off already."})
    Component.objects.filter(pk=fitting.component_id).update(state=becomes)
    record_event(
        actor=actor,
        verb="took out",
        subject=fitting,
        after={"until": until, "wiring_left_in": wiring_left_in},
        why=why,
        vehicle_id=fitting.vehicle_id,
    )
    return Fitting.objects.get(pk=fitting.pk)


@transaction.atomic
def move_component(
    *,
    fitting: Fitting,
    vehicle: Vehicle,
    on: date,
    actor: Actor,
    why: str,
    place: str = "",
    ports: Mapping[str, Any] | None = None,
    wiring_left_in: bool = True,
    set_up_stays: bool = False,
) -> Fitting:
    """Move a part to another vehicle. Its history goes along; its feeds and proof do not.

    Ports left out start as unknown on the new vehicle: nothing is taken over from the old one.
    Only a shared part whose set-up stays behind (`set_up_stays`) finds it there when it comes back.
    """
    if vehicle.pk == fitting.vehicle_id:
        raise ValidationError({"vehicle": "It is on that vehicle already."})
    remove_component(fitting=fitting, until=on, actor=actor, why=why, wiring_left_in=wiring_left_in)
    if set_up_stays:
        Fitting.objects.filter(pk=fitting.pk, component__shared=True).update(set_up_stays=True)
    before = Fitting.objects.on_sheets().filter(component=fitting.component, vehicle=vehicle)
    for set_up in before[:1]:
        place, ports = place or set_up.place, ports or set_up.ports
    return fit_component(
        component=fitting.component,
        vehicle=vehicle,
        since=on,
        actor=actor,
        place=place,
        ports=ports,
        why=why,
    )
