"""Putting messages into the outbox. Whatever is wrong with one shows here, not when it is sent."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from shop.outbox.bulk import insert_rows
from shop.outbox.message import mail_address, new_message_id, one_line
from shop.outbox.models import OutgoingMail, Suppression
from vehicles.records import Actor, record_event

REPEAT_ONCE = OutgoingMail.AfterCrash.REPEAT_ONCE
NEVER_REPEAT = OutgoingMail.AfterCrash.NEVER_REPEAT


@dataclass(frozen=True, slots=True)
class Letter:
    """A message to be queued.

    `key` says what it is for: the same key is never queued twice. `headers` go out as they are,
    made one line each. `not_before` is the earliest instant of sending; after `send_before` the
    message is of no more use and is withheld.
    """

    key: str
    kind: str
    to_address: str
    subject: str
    text: str
    not_before: datetime
    html: str = ""
    to_name: str = ""
    category: str = ""
    customer_id: int | None = None
    headers: Mapping[str, str] = field(default_factory=dict)
    send_before: datetime | None = None
    after_crash: str = REPEAT_ONCE


def queue_mail(letter: Letter) -> OutgoingMail:
    """Queue one message, or return the one that stands under the same key already.

    Call it inside the transaction of the change that the message tells of: a rollback takes the
    message along. Raises `NotAnAddressError` where the address could not be sent to.
    """
    columns = _columns(letter)
    key = columns.pop("key")
    with transaction.atomic():
        mail, _ = OutgoingMail.objects.get_or_create(key=key, defaults=columns)
    return mail


def queue_mails(letters: Sequence[Letter]) -> list[int]:
    """Queue many messages at once, all or none; return the numbers of their rows, in order.

    Raises IntegrityError where a key is taken, `NotAnAddressError` where an address is none.
    """
    keys = [letter.key for letter in letters]
    with transaction.atomic():
        insert_rows(OutgoingMail, [_columns(letter) for letter in letters])
        numbers = dict(OutgoingMail.objects.filter(key__in=keys).values_list("key", "pk"))
    return [numbers[key] for key in keys]


def _columns(letter: Letter) -> dict[str, Any]:
    return {
        "key": letter.key,
        "kind": letter.kind,
        "category": letter.category,
        "customer_id": letter.customer_id,
        "to_address": mail_address(letter.to_address),
        "to_name": one_line(letter.to_name)[:150],
        "subject": one_line(letter.subject)[:300],
        "text": letter.text,
        "html": letter.html,
        "headers": {name: one_line(value) for name, value in letter.headers.items()},
        "message_id": new_message_id(),
        "after_crash": letter.after_crash,
        "not_before": letter.not_before,
        "send_before": letter.send_before,
    }


def rewrite_mail(mail: OutgoingMail, *, subject: str, text: str, html: str) -> None:
    """Replace what a claimed message says, because part of it is no longer true.

    `mail` itself is brought up to date as well. Nothing happens if the claim was lost meanwhile.
    """
    words = {"subject": one_line(subject)[:300], "text": text, "html": html}
    OutgoingMail.objects.filter(
        pk=mail.pk, state=OutgoingMail.State.CLAIMED, claim_token=mail.claim_token
    ).update(**words)
    for name, value in words.items():
        setattr(mail, name, value)


@transaction.atomic
def suppress_address(*, address: str, category: str, why: str, actor: Actor) -> Suppression:
    """Stop all messages of a category to an address, whoever uses it. Twice is as once."""
    row, is_new = Suppression.objects.get_or_create(
        address=mail_address(address).lower(), category=category, defaults={"why": why}
    )
    if is_new:
        record_event(
            actor=actor,
            verb="silenced address",
            subject=row,
            after={"address": row.address, "category": category},
            why=why,
        )
    return row
