"""What the screens read of the reminders: lists for the desk, and every silence explained."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Prefetch, QuerySet

from installs.domain.intervals import in_words

from .models import DueItem, Heartbeat, Reminder, ServiceRule

_SHOWN = ("rule", "vehicle", "fitting__component__kind", "customer", "reverification")


def overdue_by_risk(user: object, today: date) -> "QuerySet[DueItem]":
    """Open and booked items past their date, the gravest and longest overdue first.

    A vehicle that nobody of ours owns any more is left out: there is nobody to ask in.
    """
    items = DueItem.objects.visible_to(user).overdue(today).filter(customer__isnull=False)
    return items.select_related(*_SHOWN).order_by("-risk", "due_on", "id")


def coming_up(user: object, today: date, until: date) -> "QuerySet[DueItem]":
    """Open and booked items due from `today` to `until`, soonest first."""
    items = DueItem.objects.visible_to(user).to_do()
    return (
        items.filter(due_on__gte=today, due_on__lte=until)
        .select_related(*_SHOWN)
        .order_by("due_on", "-risk", "id")
    )


def silences(user: object) -> "QuerySet[DueItem]":
    """Open items about which no mail will go (any more): `silence` says why, the desk phones.

    Without an owner there is nobody to phone, so those are left out.
    """
    items = DueItem.objects.visible_to(user).silent().filter(customer__isnull=False)
    return items.select_related(*_SHOWN).order_by("due_on", "id")


def items_of_customer(customer_id: int) -> "QuerySet[DueItem]":
    """The open items of a customer with what was said about them."""
    return _told(DueItem.objects.open().filter(customer=customer_id)).order_by("due_on", "id")


def items_told(user: object) -> "QuerySet[DueItem]":
    """All items that `user` may see, with what was said about them."""
    return _told(DueItem.objects.visible_to(user))


def _told(items: "QuerySet[DueItem]") -> "QuerySet[DueItem]":
    ledger = Reminder.objects.select_related("mail").order_by("on", "id")
    return items.select_related(*_SHOWN).prefetch_related(Prefetch("reminders", queryset=ledger))


def explain_item(item: DueItem) -> list[str]:
    """Return in sentences why the item is due, each message about it and each silence."""
    told = [f"Due on {in_words(item.due_on)}: {item.reason}."]
    told += [_said(entry) for entry in sorted(item.reminders.all(), key=_as_written)]
    if item.silence:
        told.append(item.silence)
    if item.contact_on and item.state == DueItem.State.OPEN:
        told.append(f"Next mail on {in_words(item.contact_on)}.")
    return told


def _as_written(entry: Reminder) -> tuple[date, int]:
    return entry.on, entry.pk


def _said(entry: Reminder) -> str:
    opening = f"Mail {entry.nth}, written on {in_words(entry.on)}"
    mail: Any = entry.mail
    if mail is None:
        return f"{opening}: this was left out, because it was no longer true when the mail went."
    if mail.sent_at:
        return f"{opening}: sent to {mail.to_address} on {_moment(mail.sent_at)}."
    if mail.withheld_why:
        return f"{opening}. {mail.withheld_why}"
    if mail.last_error:
        return f"{opening}: {mail.get_state_display()}. {mail.last_error}"
    if mail.state == "queued":
        return f"{opening}: waits to be sent, not before {_moment(mail.not_before)}."
    return f"{opening}: {mail.get_state_display()}."


def _moment(instant: datetime) -> str:
    local = instant.astimezone(ZoneInfo(settings.SHOP_TIME_ZONE))
    return f"{in_words(local.date())} at {local:%H:%M}"


def heartbeats() -> dict[str, Heartbeat]:
    """Return the last run of each recurring piece of work by its name."""
    return {beat.name: beat for beat in Heartbeat.objects.all()}


def kinds_of_checks() -> dict[int, dict[int, str]]:
    """Return by check the kinds of part (number and name) at which a rule has it made.

    A check that no rule asks for is not among them: it may be made at anything.
    """
    found: dict[int, dict[int, str]] = {}
    rules = ServiceRule.objects.filter(kind__isnull=False, check_asked__isnull=False)
    for check, kind, name in rules.order_by("kind__name").values_list(
        "check_asked", "kind", "kind__name"
    ):
        found.setdefault(check, {})[kind] = name
    return found
