"""The papers of a part: the label that is stuck on it, and the sheet of its inspections."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.conf import settings
from django.urls import reverse

from installs.domain.digest import digest
from installs.models import Component, Fitting, Inspection
from shop.people.reads import owners_of
from shop.reminders.models import DueItem

from .domain.trend import trends
from .names import file_name
from .qr import qr_svg
from .render import PaperSize, render

LOOKS_SHOWN = 60  # some decades of yearly looks; each costs a row of paper


def label(component: Component) -> tuple[bytes, str]:
    """Return the label of a part as PDF, and the name of its file."""
    fitting = _current(component)
    url = settings.SHOP_URL + reverse("desk:component", args=[component.pk])
    context = {
        "component": component,
        "vehicle": fitting.vehicle if fitting else None,
        "next": _next_due(component, fitting),
        "phone": settings.SHOP_PHONE,
        "qr": qr_svg(url),
        "url": url,
        "record": _record(component),
    }
    pdf = render("paper/label.html", context, size=PaperSize.LABEL)
    return pdf, file_name(str(component), "label")


def inspection_sheet(component: Component, *, today: date, size: PaperSize) -> tuple[bytes, str]:
    """Return the sheet of a part's inspections as PDF, and the name of its file."""
    fitting = _current(component)
    rows = Inspection.objects.filter(component=component).select_related("check_done", "vehicle")
    looks = list(rows[:LOOKS_SHOWN])
    due = _next_due(component, fitting)
    content = {
        "component": str(component),
        "facts": _facts(component, fitting, due),
        "looks": [_look(look) for look in looks],
    }
    context = {
        **content,
        "trends": trends((look.done_on, look.is_good, look.values) for look in looks),
        "more": max(rows.count() - len(looks), 0),
        "asks": _asks(looks),
        "hash": digest(content),
        "record": _record(component),
        "printed": today,
        "signatures": [{"role": "Looked at by"}, {"role": "Date"}],
    }
    pdf = render("paper/inspection_sheet.html", context, size=size)
    return pdf, file_name(str(component), "inspections")


def _record(component: Component) -> str:
    return f"part {component.pk}"


def _current(component: Component) -> Fitting | None:
    rows = Fitting.objects.current().filter(component=component)
    return rows.select_related("vehicle").first()


def _next_due(component: Component, fitting: Fitting | None) -> DueItem | None:
    """Return what falls due next on the part where it is fitted now."""
    if fitting is None:
        return None
    items = DueItem.objects.open().filter(fitting=fitting).select_related("rule")
    return items.order_by("due_on", "id").first()


def _facts(
    component: Component, fitting: Fitting | None, due: DueItem | None
) -> list[dict[str, Any]]:
    owned = owners_of([fitting.vehicle_id]).get(fitting.vehicle_id) if fitting else None
    where = f"{fitting.vehicle} {fitting.vehicle.plate}".strip() if fitting else ""
    return [
        {"label": "Kind", "value": component.kind.name},
        {"label": "Maker and model", "value": component.maker_model},
        {"label": "Serial", "value": component.serial, "figure": True},
        {"label": "Lot", "value": component.lot, "figure": True},
        {"label": "Date code", "value": component.date_code_typed, "figure": True},
        {"label": "Fitted on", "value": where or "nothing now"},
        {"label": "Owner", "value": str(owned.customer) if owned else ""},
        {"label": "Mounted", "value": fitting.place if fitting else ""},
        {
            "label": "Next look due",
            "value": f"{due.due_on.day} {due.due_on:%b %Y}" if due else "",
            "note": due.rule.name if due else "",
        },
    ]


def _look(look: Inspection) -> dict[str, Any]:
    return {
        "check": look.check_done.name,
        "on": look.done_on.isoformat(),
        "result": look.get_result_display(),
        "good": look.is_good,
        "values": [f"{name}: {value}" for name, value in look.values.items()],
        "by": f"{look.by}, elsewhere" if look.elsewhere else look.by,
        "vehicle": str(look.vehicle),
        "note": look.note,
    }


def _asks(looks: list[Inspection]) -> list[Mapping[str, str]]:
    """Return what each of these checks asks for, once."""
    checks = {look.check_done.name: look.check_done.asks for look in looks}
    return [{"check": name, "asks": asks} for name, asks in checks.items() if asks]
