"""What a person does about a message that failed or may have gone out."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from shop.outbox.models import OutgoingMail
from vehicles.records import Actor, record_event

State = OutgoingMail.State
FOR_A_PERSON = (State.FAILED, State.UNSURE)


@transaction.atomic
def retry_mail(*, mail: OutgoingMail, now: datetime, actor: Actor, why: str = "") -> OutgoingMail:
    """Put a failed or doubtful message back in the queue, with its old Message-ID.

    Raises ValidationError where the message is in neither state (any more).
    """
    rows = OutgoingMail.objects.filter(pk=mail.pk, state__in=FOR_A_PERSON).update(
        state=State.QUEUED,
        attempts=0,
        crashes=0,
        not_before=now,
        last_error="",
        settled_at=None,
        claim_token="",
        claimed_at=None,
    )
    return _told(mail, rows, actor, "sent again", why)


@transaction.atomic
def settle_mail(*, mail: OutgoingMail, now: datetime, actor: Actor, why: str) -> OutgoingMail:
    """Leave a failed or doubtful message as it is and take it off the list for a person.

    Raises ValidationError where there is nothing (any more) to be settled.
    """
    rows = OutgoingMail.objects.filter(pk=mail.pk, state__in=FOR_A_PERSON, settled_at=None).update(
        settled_at=now
    )
    return _told(mail, rows, actor, "settled mail", why)


def _told(mail: OutgoingMail, rows: int, actor: Actor, verb: str, why: str) -> OutgoingMail:
    fresh = OutgoingMail.objects.get(pk=mail.pk)
    if not rows:
        raise ValidationError(
            f"This mail is now: {fresh.get_state_display()}. Nothing was changed."
        )
    record_event(
        actor=actor,
        verb=verb,
        subject=fresh,
        before={"state": mail.state, "error": mail.last_error},
        after={"state": fresh.state},
        why=why,
        customer_id=fresh.customer_id,
    )
    return fresh
