"""What if this fuse were out, or that one in? Seen at once, never saved."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from installs.domain.whatif import WhatIf
from installs.domain.whatif import what_if as suppose
from shop.desk.access import staff
from shop.desk.present import feeds, findings, fuses
from shop.desk.swap import swaps
from shop.desk.vehicle_reads import TowedVehicle, read_towed, vehicle_with_owner
from vehicles.domain.terminals import KEY_POSITIONS

TOGGLES = {"yes": True, "no": False}


@staff
def what_if(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the tow state changed by ``?fuses=..&key=..&disconnect=..&charge=..``."""
    found = get_object_or_404(vehicle_with_owner(request.user), pk=pk)
    if found.is_motorhome:
        raise Http404
    page = read_towed(found)
    asked = _asked(request, page)
    supposed = suppose(page.now.sheet, asked, before=page.now.judgement) if asked else None
    context = _context(request, page, supposed)
    if swaps(request, "what-if-result"):
        return render(request, "desk/what_if_result.html", context)
    return render(request, "desk/what_if.html", context)


def _asked(request: HttpRequest, page: TowedVehicle) -> dict[str, Any]:
    """Return the changes that the query asks for; names that do not exist are left out."""
    on_map = {fuse.id for fuse in page.now.sheet.feed_map.fuses}
    asked: dict[str, Any] = {}
    ticked = [fuse for fuse in request.GET.getlist("fuses") if fuse in on_map]
    if ticked:
        asked["fuses"] = ticked
    if request.GET.get("key") in KEY_POSITIONS:
        asked["key"] = request.GET["key"]
    for name in ("disconnect", "charge"):
        if request.GET.get(name) in TOGGLES:
            asked[name] = TOGGLES[request.GET[name]]
    return asked


def _context(request: HttpRequest, page: TowedVehicle, supposed: WhatIf | None) -> dict[str, Any]:
    vehicle = page.vehicle
    here = reverse("desk:vehicle", args=[vehicle.pk])
    tow = page.now.judgement.views.states["tow"]
    ticked = request.GET.getlist("fuses")
    context = {
        "vehicle": vehicle,
        "crumbs": [
            {"label": "Vehicles", "url": reverse("desk:vehicles")},
            {"label": str(vehicle), "url": here},
        ],
        "boxes": fuses.boxes(page.now.sheet, tow, ticked),
        "tow": tow,
        "keys": KEY_POSITIONS,
        "key": request.GET.get("key", ""),
        "disconnect": request.GET.get("disconnect", ""),
        "charge": request.GET.get("charge", ""),
        "has_charge_line": page.now.sheet.feed_map.charge_line is not None,
        "supposed": supposed,
    }
    if supposed is not None:
        before = {finding.title for finding in page.now.judgement.findings}
        after = {finding.title for finding in supposed.judgement.findings}
        new = [f for f in supposed.judgement.findings if f.title not in before]
        context |= {
            "differences": supposed.differences,
            "new_findings": findings.rows(new, page.by_name),
            "gone": [f.title for f in page.now.judgement.findings if f.title not in after],
            "sheet": feeds.drawing(supposed.judgement, page.by_name, "tow"),
        }
    return context
