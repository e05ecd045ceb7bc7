"""The list of vehicles, and the page of one: a towed vehicle or a motorhome."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from installs.models import Standing
from shop.clock import today as shop_today
from shop.desk.access import staff
from shop.desk.paging import page_of
from shop.desk.present import feeds, findings, fuses, happened, identity, numbers, procedure, stamp
from shop.desk.swap import swaps
from shop.desk.vehicle_reads import (
    TowedVehicle,
    combinations_of,
    events_of,
    latest_readings,
    open_dues,
    read_towed,
    vehicle_with_owner,
)
from shop.units_shown import system_of
from vehicles.domain.editions import conflicts
from vehicles.domain.state import STATE_NAMES
from vehicles.models import Combination, Vehicle


@staff
def vehicles(request: HttpRequest) -> HttpResponse:
    """List vehicles by kind and by how their proof stands."""
    rows = Vehicle.objects.visible_to(request.user).select_related("standing")
    kind, proof = request.GET.get("kind", ""), request.GET.get("proof", "")
    if kind in Vehicle.Kind.values:
        rows = rows.filter(kind=kind)
    if proof in Standing.Proof.values:
        rows = rows.filter(standing__proof=proof)
    context = {
        "page": page_of(request, rows),
        "kind": kind,
        "proof": proof,
        "kinds": Vehicle.Kind.choices,
        "proofs": Standing.Proof.choices,
        "here": "vehicles",
    }
    return render(request, "desk/vehicles.html", context)


@staff
def vehicle(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one vehicle as it stands; ``?state=`` chooses the feed sheet."""
    found = get_object_or_404(vehicle_with_owner(request.user), pk=pk)
    if found.is_motorhome:
        return render(request, "desk/motorhome.html", _motorhome(found, system_of(request.user)))
    state = request.GET.get("state", "tow")
    state = state if state in STATE_NAMES else "tow"
    page = read_towed(found)
    if swaps(request, "feed-sheet"):
        return render(request, "desk/vehicle_sheet.html", _sheet(page, state))
    return render(
        request, "desk/vehicle.html", _sheet(page, state) | _towed(page, system_of(request.user))
    )


def _sheet(page: TowedVehicle, state: str) -> dict[str, Any]:
    """Context of the feed sheet alone, for a change of the state on the page."""
    return {
        "vehicle": page.vehicle,
        "state": state,
        "states": STATE_NAMES,
        "sheet": feeds.drawing(
            page.now.judgement,
            page.by_name,
            state,
            volts=numbers.beside(page.now, page.proofs[0] if page.proofs else None),
            ends=numbers.ends(numbers.of_page(page), state),
        ),
        "has_ports": bool(page.now.judgement.ports or page.now.judgement.loads),
    }


def _towed(page: TowedVehicle, units: str) -> dict[str, Any]:
    judgement, sheet, by_name = page.now.judgement, page.now.sheet, page.by_name
    proofs = page.proofs
    pairs = combinations_of(page.vehicle)
    volts = numbers.beside(page.now, proofs[0] if proofs else None)
    return {
        "page": page,
        "crumbs": [{"label": "Vehicles", "url": reverse("desk:vehicles")}],
        "facts": identity.towed(page.vehicle, page.feed_map, units),
        "proof": stamp.of_vehicle(page.now, proofs[0] if proofs else None, page.asked),
        "proofs": proofs,
        "findings": findings.rows(judgement.findings, by_name),
        "blocking": sum(1 for finding in judgement.findings if finding.blocking),
        "feeds": feeds.table(judgement, sheet, by_name, volts),
        "limit": numbers.limit_words(numbers.of_page(page)),
        "loads": feeds.of_the_car(judgement),
        "boxes": fuses.boxes(sheet, judgement.views.states["tow"]),
        "tow_state": judgement.views.states["tow"],
        "procedure": procedure.shown(sheet.procedure),
        "not_towed": procedure.not_towed(sheet.procedure),
        "conflicts": _conflicts(page),
        "pairs": [pair for pair in pairs if pair.until is None],
        "earlier_pairs": [pair for pair in pairs if pair.until is not None],
        "dues": happened.dues(open_dues(page.vehicle), shop_today()),
        "readings": latest_readings(page.vehicle),
        "events": happened.events(events_of(page.vehicle)),
    }


def _conflicts(page: TowedVehicle) -> list[dict[str, Any]]:
    """What another source in force for the same range says otherwise."""
    told = []
    for revision, other in page.other_sources:
        apart = conflicts(page.now.sheet.procedure, other)
        if apart:
            source = procedure.source_words(other.source)
            told.append({"revision": revision, "source": source, "says": apart})
    return told


def _motorhome(found: Any, units: str) -> dict[str, Any]:
    pairs: list[Combination] = combinations_of(found)
    return {
        "vehicle": found,
        "crumbs": [{"label": "Vehicles", "url": reverse("desk:vehicles")}],
        "coach": identity.coach(found),
        "chassis": identity.chassis(found),
        "ratings": identity.ratings(found, units),
        "pairs": [pair for pair in pairs if pair.until is None],
        "earlier_pairs": [pair for pair in pairs if pair.until is not None],
        "readings": latest_readings(found),
        "events": happened.events(events_of(found)),
    }
