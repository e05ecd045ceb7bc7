"""The look at a digest just before it goes out: is it still true, still wanted, not at night?"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

from installs.domain.intervals import in_words
from shop.clock import shop_date
from shop.outbox.services import DeliveryReport, deliver_waiting, rewrite_mail
from shop.people.models import Ownership
from shop.reminders.models import DueItem, Heartbeat, Reminder

from .digest import Digest, write_digest
from .hours import sending_time
from .reach import Reach, reach_of
from .tick import words_of
from .tokens import stop_url
from .unsaid import take_back, take_back_mail

State = DueItem.State
NOTHING_LEFT = "Not sent: nothing in it is due any more."
SAID_ANEW = "Not sent: what it tells comes up again in a newer message."


def deliver_round(*, now: datetime) -> DeliveryReport:
    """Send what waits in the outbox, each digest looked at again first; keep the heartbeat."""
    report = deliver_waiting(now=now, recheck=recheck, unsent=take_back_mail)
    Heartbeat.objects.update_or_create(
        name="deliver", defaults={"at": now, "said": str(report)[:200]}
    )
    return report


def recheck(mail: Any, now: datetime) -> str | datetime | None:
    """Return None if the message may go, an instant if only later, or why it must not go at all.

    `mail` is a claimed row of the outbox. A digest of which only part is still true is written
    anew without the rest; what it says then is what goes out.
    """
    if mail.kind != "digest":
        return None
    today = shop_date(now)
    ledger = list(_ledger(mail))
    if not ledger or mail.customer_id is None:
        # Sent again by hand after it had failed for good.
        return SAID_ANEW if Reminder.objects.filter(mail=mail.pk).exists() else NOTHING_LEFT
    owners = dict(
        Ownership.objects.current()
        .filter(vehicle__in={entry.item.vehicle_id for entry in ledger})
        .values_list("vehicle", "customer")
    )
    fallen = {
        entry.pk: _why_fallen(entry.item, owners, mail.customer_id, today) for entry in ledger
    }
    kept = [entry for entry in ledger if not fallen[entry.pk]]
    if not kept:
        reasons = dict.fromkeys(fallen.values())
        return f"Not sent: {', '.join(filter(None, reasons))}."
    reach = reach_of([mail.customer_id])[mail.customer_id]
    refusal = _refusal(mail, reach)
    if refusal:
        return refusal
    opens = sending_time(now, reach.time_zone)
    if opens > now:
        return opens
    _bring_up_to_date(mail, reach, kept)
    take_back(entries=[pk for pk, why in fallen.items() if why], today=today, left_out=True)
    return None


def _ledger(mail: Any) -> Any:
    return (
        Reminder.objects.counted()
        .filter(mail=mail.pk)
        .select_related("item__rule", "item__vehicle__standing", "item__reverification")
        .order_by("item")
    )


def _why_fallen(item: DueItem, owners: dict[int, int], customer_id: int, today: date) -> str | None:
    """Return why the item is no longer to be said to this customer, None if it still is."""
    if item.state == State.BOOKED and item.booked_for:
        return f"booked for {in_words(item.booked_for)}"
    if item.state == State.DONE and item.closed_on:
        return f"done on {in_words(item.closed_on)}"
    if item.state != State.OPEN:
        return "no longer due"
    if owners.get(item.vehicle_id) != customer_id:
        return "the vehicle changed hands"
    if item.snoozed_until and item.snoozed_until > today:
        return f"put off until {in_words(item.snoozed_until)}"
    if item.due_on - timedelta(days=item.rule.lead_days) > today:
        return f"not due before {in_words(item.due_on)}"
    return None


def _refusal(mail: Any, reach: Reach) -> str | None:
    """Return why this address must not get it any more.

    An address that was struck from the records in the meantime is not written to; what the
    message held comes up again, for the address that stands there then.
    """
    known = {address.lower() for address, _ in reach.addresses}
    if mail.to_address.lower() not in known:
        return f"Not sent: {mail.to_address} is no longer on file."
    why = reach.route(mail.category).why
    return f"Not sent. {why}" if why else None


def _bring_up_to_date(mail: Any, reach: Reach, kept: Sequence[Reminder]) -> None:
    """Write the digest anew from what is true now, and keep it where it differs."""
    written = write_digest(
        Digest(
            customer_id=reach.id,
            name=reach.name,
            called=reach.called,
            language=reach.language,
            address=mail.to_address,
            stop_url=stop_url(
                customer_id=reach.id, category=mail.category, address=mail.to_address
            ),
            category=mail.category,
            day=kept[0].on,
            items=[words_of(_row(entry.item), entry.item.rule) for entry in kept],
        )
    )
    if (written.subject, written.text, written.html) != (mail.subject, mail.text, mail.html):
        rewrite_mail(mail, subject=written.subject, text=written.text, html=written.html)


def _row(item: DueItem) -> dict[str, Any]:
    vehicle, proof = item.vehicle, item.reverification
    standing = getattr(vehicle, "standing", None)
    return {
        "vehicle_id": vehicle.pk,
        "vehicle__year": vehicle.year,
        "vehicle__make": vehicle.make,
        "vehicle__model": vehicle.model,
        "vehicle__plate": vehicle.plate,
        "reason": item.reason,
        "due_on": item.due_on,
        "risk": item.risk,
        "reverification__differences": proof.differences if proof else None,
        "anchor_key": item.anchor_key,
        "vehicle__standing__told": standing.told if standing else (),
        "vehicle__standing__proof": standing.proof if standing else "",
    }
