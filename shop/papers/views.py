"""Papers as they are asked for, and the page behind the code on a tow card."""

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.template.loader import get_template
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from installs.models import Component
from shop.clock import today
from shop.desk.access import staff
from shop.desk.vehicle_reads import read_towed, vehicle_with_owner
from vehicles.models import Vehicle

from . import component as parts
from .checking import card_state
from .names import pdf_answer
from .render import shop_size
from .tokens import read_card_token
from .tow_card import no_card_because, tow_card


@staff
@require_safe
def tow_card_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the tow card of a vehicle, or say on a page why there is none."""
    rows = vehicle_with_owner(request.user).filter(kind=Vehicle.Kind.TOWED)
    page = read_towed(get_object_or_404(rows, pk=pk))
    reason = no_card_because(page.now.sheet.procedure)
    if reason:
        context: dict[str, Any] = {
            "vehicle": page.vehicle,
            "reason": reason,
            "crumbs": [
                {"label": "Vehicles", "url": reverse("desk:vehicles")},
                {"label": str(page.vehicle), "url": reverse("desk:vehicle", args=[pk])},
            ],
        }
        return render(request, "papers/no_card.html", context, status=409)
    card = tow_card(page, today=today())
    return pdf_answer(card.pdf(shop_size()), card.name)


@staff
@require_safe
def label_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the label of a part."""
    return pdf_answer(*parts.label(_component(request, pk)))


@staff
@require_safe
def inspection_sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the sheet of a part's inspections."""
    found = _component(request, pk)
    return pdf_answer(*parts.inspection_sheet(found, today=today(), size=shop_size()))


def _component(request: HttpRequest, pk: int) -> Component:
    rows = Component.objects.visible_to(request.user).select_related("kind")
    return get_object_or_404(rows, pk=pk)


@login_not_required
@never_cache
@require_safe
def card(request: HttpRequest, token: str) -> HttpResponse:
    """Tell whoever scans a card whether it is the current one. A token not ours is a 404."""
    read = read_card_token(token)
    state = card_state(read) if read else None
    if state is None:
        raise Http404
    phone = settings.SHOP_PHONE
    dial = "".join(sign for sign in phone if sign in "+0123456789")
    context = {"state": state, "phone": phone, "dial": dial}
    # Rendered without the request: a stranger gets no session and no cookie, and sees no name.
    return HttpResponse(get_template("papers/card.html").render(context))
