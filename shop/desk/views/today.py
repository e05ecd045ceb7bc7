"""The first page of the morning: what needs a person, gravest first."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from installs.models import Reverification, Standing
from shop.clock import now
from shop.clock import today as shop_today
from shop.desk.access import staff
from shop.outbox.reads import mails_for_a_person
from shop.people.reads import owners_of
from shop.reminders.reads import heartbeats, overdue_by_risk, silences

SHOWN = 8
# The tick runs every few minutes; an hour without one means that the worker stands still.
TICK_LATE_SECONDS = 3600


@staff
def today(request: HttpRequest) -> HttpResponse:
    """Show what waits for somebody at the desk."""
    lists = {
        "asked": Reverification.objects.to_prove().with_proven().select_related("vehicle"),
        "overdue": overdue_by_risk(request.user, shop_today()),
        "blocked": Standing.objects.filter(risk__gt=0)
        .select_related("vehicle")
        .order_by("-risk", "vehicle"),
        "mails": mails_for_a_person(request.user),
        "silent": silences(request.user),
    }
    counts = {name: rows.count() for name, rows in lists.items()}
    shown: dict[str, list[Any]] = {name: list(rows[:SHOWN]) for name, rows in lists.items()}
    ids = {row.vehicle_id for name in lists if name != "mails" for row in shown[name]}
    owners = owners_of(ids)
    for name in ("asked", "overdue", "blocked", "silent"):
        for row in shown[name]:
            row.owned = owners.get(row.vehicle_id)
    context = {
        **shown,
        "counts": counts,
        "nothing": not any(counts.values()),
        "today": shop_today(),
        "worker": _worker(),
        "here": "today",
    }
    return render(request, "desk/today.html", context)


def _worker() -> dict[str, Any]:
    """Return when the due tick last ran, and whether that is too long ago."""
    beat = heartbeats().get("due_tick")
    if beat is None:
        return {"at": None, "late": True, "said": ""}
    age = (now() - beat.at).total_seconds()
    return {"at": beat.at, "late": age > TICK_LATE_SECONDS, "said": beat.said}
