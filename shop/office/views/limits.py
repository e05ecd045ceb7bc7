"""The owner's limits and tables: listed with their sources, changed one at a time."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from installs.domain.reckoned import JUDGED_BY
from shop import limit_changes
from shop.clock import today
from shop.desk.access import owners
from shop.desk.actor import actor_of
from shop.desk.saving import form_page, saved
from shop.office.forms.limits import LimitForm
from vehicles.domain.limit_set import START, Limits, Setting
from vehicles.models import LimitVersion

from .records import crumbs

TITLES = {
    "circuit": "Volts and ohms",
    "wire": "Wires",
    "fuse": "Fuses",
    "battery": "Batteries",
    "coupling": "Couplings and weights",
}


@owners
def limits(request: HttpRequest) -> HttpResponse:
    """List every limit, table and choice in force, with where it comes from."""
    in_force = LimitVersion.objects.in_force()
    versions = {row.code: row for row in LimitVersion.objects.current()}
    rows = [_row(setting, versions.get(code)) for code, setting in in_force.items()]
    context = {
        "groups": [
            (title, [row for row in rows if row["setting"].group == group])
            for group, title in TITLES.items()
        ],
        "to_confirm": sum(1 for row in rows if row["setting"].to_confirm),
        "overdue": sum(1 for row in rows if row["overdue"]),
        "waiting": limit_changes.waiting(),
    }
    return render(request, "office/limits.html", context)


def _row(setting: Setting, version: LimitVersion | None) -> dict[str, Any]:
    again = version.recheck_on if version else None
    return {
        "setting": setting,
        "version": version,
        "overdue": bool(again and again <= today()),
    }


@owners
def limit_change(request: HttpRequest, code: str) -> HttpResponse:
    """Change one limit; what it was is kept as a version."""
    if code not in START:
        raise Http404
    in_force = LimitVersion.objects.in_force()
    version = LimitVersion.objects.current().filter(code=code).first()
    form = LimitForm(request.POST or None, today=today(), record=version, setting=in_force[code])
    back = reverse("office:limits")

    def act() -> str:
        told = form.cleaned_data
        made = limit_changes.set_limit(
            code=code, content=form.content, typed=form.typed, version=told["version"] or 0,
            source=told["source"], edition=told["edition"], from_memory=told["from_memory"],
            recheck_on=told["recheck_on"], why=told["why"], today=today(),
            actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, f"In force: {START[code].words}, {made.words_of_value}.")
        if code in JUDGED_BY and (rest := limit_changes.waiting()):
            messages.info(request, f"{rest} vehicles more are judged by it within minutes.")
        return back

    look = "look" in request.POST
    tried = _tried(form, code) if look else None
    done = None if look else saved(request, form, act)
    return done or form_page(
        request, form, title=f"Limit: {START[code].words}", back=back,
        template="office/limit.html", crumbs=crumbs("Limits", "office:limits"),
        context=_context(in_force, code, tried),
    )  # fmt: skip


def _tried(form: LimitForm, code: str) -> Mapping[str, Any] | None:
    """Return what the value would change, looked at and not saved."""
    if not form.is_valid():
        return None
    setting = START.with_value(code, form.content)[code]
    return {"words": setting.words_of_value, "found": limit_changes.preview(code, form.content)}


def _context(in_force: Limits, code: str, tried: Mapping[str, Any] | None) -> dict[str, Any]:
    return {
        "setting": in_force[code],
        "start": START[code],
        "tried": tried,
        "reaches": code in JUDGED_BY,
        "versions": LimitVersion.objects.filter(code=code, is_current=False),
    }
