"""The log book: who changed what, from what to what, and why."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.desk.access import staff
from shop.desk.present import happened
from shop.people.models import Customer
from vehicles.models import Event, Vehicle

PER_PAGE = 40


@staff
def log(request: HttpRequest) -> HttpResponse:
    """Show the log, newest first; ``?vehicle=``, ``?customer=``, ``?who=``, ``?did=`` narrow it.

    It is walked by ``?before=`` (an entry's number): counting pages of a log that only grows
    would cost more with every entry.
    """
    asked = {name: request.GET.get(name, "").strip() for name in ("vehicle", "customer")}
    who, did = request.GET.get("who", "").strip(), request.GET.get("did", "").strip()
    rows = Event.objects.all()
    if asked["vehicle"].isdecimal():
        rows = rows.of_vehicle(int(asked["vehicle"]))
    if asked["customer"].isdecimal():
        rows = rows.of_customer(int(asked["customer"]))
    if who:
        rows = rows.filter(actor__icontains=who)
    if did:
        rows = rows.filter(verb=did)
    before = request.GET.get("before", "")
    if before.isdecimal():
        rows = rows.filter(pk__lt=int(before))
    found = list(rows[: PER_PAGE + 1])
    context = {
        "events": happened.events(found[:PER_PAGE]),
        "further": found[PER_PAGE - 1].pk if len(found) > PER_PAGE else None,
        "who": who,
        "did": did,
        "did_what": list(Event.objects.order_by("verb").values_list("verb", flat=True).distinct()),
        "about": _about(request, asked),
        "vehicle": asked["vehicle"],
        "customer": asked["customer"],
        "here": "log",
    }
    return render(request, "desk/log.html", context)


def _about(request: HttpRequest, asked: dict[str, str]) -> Vehicle | Customer | None:
    """Return the one vehicle or customer that the log is narrowed to."""
    for model, name in ((Vehicle, "vehicle"), (Customer, "customer")):
        if asked[name].isdecimal():
            found = model.objects.visible_to(request.user).filter(pk=int(asked[name])).first()
            if found:
                return found
    return None
