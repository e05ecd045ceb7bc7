"""What is due, one due item explained, and what the desk does about it."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from installs.models import Reverification
from shop.clock import today as shop_today
from shop.desk.access import keepers, staff
from shop.desk.actor import actor_of
from shop.desk.forms.due import DayForm
from shop.desk.paging import page_of
from shop.people.models import Category
from shop.people.reads import owners_of
from shop.reminders.models import DueItem
from shop.reminders.reads import coming_up, explain_item, items_told, overdue_by_risk, silences
from shop.reminders.services import cancel_booking, mark_booked, snooze, what_customer_reads

AHEAD_DAYS = 60
SHOWS = (("overdue", "Overdue"), ("soon", f"Next {AHEAD_DAYS} days"), ("silent", "To phone"))


@staff
def due(request: HttpRequest) -> HttpResponse:
    """List what is due: overdue by risk, soon, or silent; ``?category=`` narrows it."""
    today = shop_today()
    show = request.GET.get("show", "overdue")
    if show == "soon":
        rows = coming_up(request.user, today, today + timedelta(days=AHEAD_DAYS))
    elif show == "silent":
        rows = silences(request.user)
    else:
        show, rows = "overdue", overdue_by_risk(request.user, today)
    category = request.GET.get("category", "")
    if category in Category.values:
        rows = rows.filter(category=category)
    page = page_of(request, rows)
    owners = owners_of(item.vehicle_id for item in page)
    for item in page:
        item.owned = owners.get(item.vehicle_id)
    context = {
        "page": page,
        "show": show,
        "shows": SHOWS,
        "category": category,
        "categories": Category.choices,
        "today": today,
        "here": "due",
    }
    return render(request, "desk/due.html", context)


def _item(request: HttpRequest, pk: int) -> DueItem:
    return get_object_or_404(items_told(request.user), pk=pk)


@staff
def due_item(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one due item: why it is due, what was said about it, and what can be done."""
    return _due_page(request, _item(request, pk))


def _due_page(request: HttpRequest, item: DueItem, **forms: DayForm) -> HttpResponse:
    today = shop_today()
    context: dict[str, Any] = {
        "item": item,
        "crumbs": [{"label": "Due", "url": reverse("desk:due")}],
        "told": explain_item(item),
        "reads": what_customer_reads(item),
        "owned": owners_of([item.vehicle_id]).get(item.vehicle_id),
        "today": today,
        "booked_form": DayForm(label="Day of the visit", today=today, prefix="booked"),
        "snooze_form": DayForm(label="Say nothing before", today=today, prefix="snooze"),
        **forms,
    }
    return render(request, "desk/due_item.html", context)


def _on_a_day(
    request: HttpRequest, pk: int, name: str, label: str, act: Callable[..., Any], said: str
) -> HttpResponse:
    """Run `act` with the day of the form called `name`; show the page again where it is wrong."""
    item = _item(request, pk)
    form = DayForm(request.POST, label=label, today=shop_today(), prefix=name)
    if form.is_valid():
        try:
            act(item, form.cleaned_data["day"], form.cleaned_data["why"])
        except ValidationError as error:
            form.add_error("day", error.messages)
        else:
            messages.success(request, said)
            return HttpResponseRedirect(reverse("desk:due_item", args=[pk]))
    return _due_page(request, item, **{f"{name}_form": form})


@keepers
@require_POST
def due_booked(request: HttpRequest, pk: int) -> HttpResponse:
    """Note the visit at which the item will be dealt with."""

    def act(item: DueItem, day: Any, why: str) -> None:
        actor, today = actor_of(request), shop_today()
        mark_booked(item=item, on=day, today=today, actor=actor, why=why)

    said = "Noted. No mail goes out about it until the day after the visit."
    return _on_a_day(request, pk, "booked", "Day of the visit", act, said)


@keepers
@require_POST
def due_snooze(request: HttpRequest, pk: int) -> HttpResponse:
    """Say nothing about the item before a day; it stays due."""

    def act(item: DueItem, day: Any, why: str) -> None:
        actor, today = actor_of(request), shop_today()
        snooze(item=item, until=day, today=today, actor=actor, why=why)

    said = "Put off. It stays due, and stays on the overdue list."
    return _on_a_day(request, pk, "snooze", "Say nothing before", act, said)


@keepers
@require_POST
def due_unbooked(request: HttpRequest, pk: int) -> HttpResponse:
    """The visit will not take place."""
    item = _item(request, pk)
    try:
        cancel_booking(item=item, today=shop_today(), actor=actor_of(request))
        messages.success(request, "The visit is struck out; reminders go on.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return HttpResponseRedirect(reverse("desk:due_item", args=[pk]))


@staff
def reverifications(request: HttpRequest) -> HttpResponse:
    """List the vehicles that have to be proven, again or not; ``?show=closed`` those that were."""
    show = "closed" if request.GET.get("show") == "closed" else "open"
    rows = Reverification.objects.with_proven()
    rows = rows.select_related("vehicle", "against", "closed_by")
    rows = rows.to_prove() if show == "open" else rows.exclude(state=Reverification.State.OPEN)
    page = page_of(request, rows)
    owners = owners_of(row.vehicle_id for row in page)
    for row in page:
        row.owned = owners.get(row.vehicle_id)
    context = {"page": page, "show": show, "here": "reverifications"}
    return render(request, "desk/reverifications.html", context)
