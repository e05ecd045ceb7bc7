"""The log, what is due and what was measured, in the forms of the parts."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from django.urls import reverse

from shop.reminders.models import DueItem
from vehicles.models import Event

# Search text, counters and long documents say nothing to a reader of the log.
NOT_SHOWN = frozenset({"lookup", "version", "content", "as_typed", "fingerprint", "basis"})
LONGEST = 120


def events(rows: Iterable[Event]) -> list[dict[str, Any]]:
    """Return lines of the log for parts/history.html."""
    return [
        {
            "at": event.at,
            "who": event.actor,
            "words": f"{event.verb}: {event.subject}",
            "facts": list(_facts(event)),
            "why": event.why,
            "changes": list(_changes(event)),
        }
        for event in rows
    ]


def _changes(event: Event) -> Iterator[dict[str, str]]:
    """Yield what the event changed; a first entry changes nothing, its words tell of it."""
    if not event.before:
        return
    for name, after in event.after.items():
        before = event.before.get(name)
        if name in NOT_SHOWN or before == after:
            continue
        yield {
            "what": name.removesuffix("_kg").replace("_", " "),
            "before": _words(before),
            "after": _words(after),
        }


def _facts(event: Event) -> Iterator[str]:
    """Yield what a first entry held, for those who read the log itself."""
    if event.before:
        return
    for name, value in event.after.items():
        if name not in NOT_SHOWN and value not in ("", None, [], {}):
            yield f"{name.removesuffix('_kg').replace('_', ' ')}: {_words(value)}"


def _words(value: Any) -> str:
    if value in (None, "", [], {}):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        value = value.get("is") or ", ".join(
            f"{key.replace('_', ' ')}: {_words(held)}" for key, held in value.items()
        )
    elif isinstance(value, list):
        value = "; ".join(map(_words, value))
    text = str(value)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"


def dues(items: Iterable[DueItem], today: date, *, of: str = "part") -> list[dict[str, Any]]:
    """Return due items for parts/due_list.html; `of` names what stands in the title besides."""
    return [
        {
            "when": item.due_on,
            "late": item.due_on < today or item.at_once,
            "title": _title(item, of),
            "why": due_why(item),
            "url": reverse("desk:due_item", args=[item.pk]),
        }
        for item in items
    ]


def _title(item: DueItem, of: str) -> str:
    thing = str(item.vehicle) if of == "vehicle" else ""
    if of == "part" and item.fitting is not None:
        thing = str(item.fitting.component)
    return f"{item.title}: {thing}" if thing else item.title


def due_why(item: DueItem) -> str:
    """Return why it is due, and what is known of a visit or of silence."""
    reason = item.reason.rstrip(".") + "."
    said = [reason[:1].upper() + reason[1:]]
    if item.booked_for:
        said.append(f"Booked for {item.booked_for:%d %b %Y}.")
    if item.silence:
        said.append(item.silence)
    if item.mails_sent:
        said.append(f"{item.mails_sent} mail{'s' if item.mails_sent > 1 else ''} sent.")
    return " ".join(said)
