"""What the desk does with a single due item."""

from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.intervals import in_words
from shop.reminders.models import DueItem
from vehicles.records import Actor, record_event

from .planning import contact_of, terms_of
from .reach import reach_of

# A year and a bit. A year typed wrong must not silence an item for as long as it says.
AHEAD_MAX = timedelta(days=400)


@transaction.atomic
def mark_booked(*, item: DueItem, on: date, today: date, actor: Actor, why: str = "") -> DueItem:
    """Note the visit at which the item is dealt with: no mail until the day after it.

    Raises ValidationError at `on` for a day that is past or more than `AHEAD_MAX` ahead.
    """
    if on < today:
        raise ValidationError({"on": f"{in_words(on)} is past. Give the day of a visit to come."})
    _not_too_far("on", on, today)
    return _change(item, today, actor, "booked", why, state=DueItem.State.BOOKED, booked_for=on)


@transaction.atomic
def cancel_booking(*, item: DueItem, today: date, actor: Actor, why: str = "") -> DueItem:
    """The visit will not take place: reminders go on."""
    return _change(item, today, actor, "unbooked", why, state=DueItem.State.OPEN, booked_for=None)


@transaction.atomic
def snooze(*, item: DueItem, until: date, today: date, actor: Actor, why: str = "") -> DueItem:
    """Say nothing before `until`. The due date stays, and so does the overdue list.

    Raises ValidationError at `until` for a day that is not to come or more than `AHEAD_MAX` ahead.
    """
    if until <= today:
        raise ValidationError({"until": f"{in_words(until)} is not in the future."})
    _not_too_far("until", until, today)
    return _change(item, today, actor, "put off", why, snoozed_until=until)


def _not_too_far(field: str, day: date, today: date) -> None:
    """Refuse a day that can only be a slip of the pen."""
    if day > today + AHEAD_MAX:
        latest = in_words(today + AHEAD_MAX)
        raise ValidationError(
            {field: f"{in_words(day)} is too far ahead. Give a day up to {latest}."}
        )


def _change(
    item: DueItem, today: date, actor: Actor, verb: str, why: str, **changes: object
) -> DueItem:
    """Write `changes` to an open item together with the contact day that follows from them."""
    fresh = DueItem.objects.select_for_update().select_related("rule").get(pk=item.pk)
    if fresh.closed_on:
        raise ValidationError(f"This is closed already: {fresh.silence or fresh.state}")
    before = {name: getattr(fresh, name) for name in changes}
    for name, value in changes.items():
        setattr(fresh, name, value)
    last = fresh.reminders.counted().first()
    contact = contact_of(
        fresh,
        terms=terms_of(fresh.rule),
        reach=reach_of([fresh.customer_id]).get(fresh.customer_id) if fresh.customer_id else None,
        last_mail_on=last.on if last else None,
        today=today,
    )
    fresh.contact_on, fresh.silence = contact.on, contact.silence[:200]
    fresh.save(update_fields=[*changes, "contact_on", "silence"])
    record_event(
        actor=actor,
        verb=verb,
        subject=fresh,
        before=before,
        after=changes,
        why=why,
        vehicle_id=fresh.vehicle_id,
        customer_id=fresh.customer_id,
    )
    return fresh
