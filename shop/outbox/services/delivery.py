"""Sending what waits: claim, look again, send outside any transaction, mark.

What is promised: a queued message is handed over at least once while the mail server can be
reached. A process that dies between the server's answer and the mark leaves a doubt; then the
message is sent once more under the same Message-ID, never a third time, or, if it must never be
repeated (sign-in codes), it is put before a person.
"""

import logging
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from time import monotonic

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q, QuerySet

from shop.clock import shop_date
from shop.outbox.message import build_message, wire_address
from shop.outbox.models import OutgoingMail, Suppression
from shop.outbox.transport import (
    MayBeSentError,
    NoServerError,
    NotSentError,
    RefusedError,
    Transport,
    chosen_transport,
)
from shop.people.models import EmailAddress
from vehicles.records import PULLPIN, record_event

State = OutgoingMail.State
AfterCrash = OutgoingMail.AfterCrash
log = logging.getLogger(__name__)

# A send takes at most a few socket timeouts; a claim of this age belongs to a dead process.
CLAIM_LASTS = timedelta(minutes=10)
# Minutes until the next try, the last one repeated; in all about two days, then a person.
BACK_OFF = (1, 5, 15, 60, 120, 240, 480)
ATTEMPTS_MAX = 12
ROUND_MAX = 5000

# What a look just before sending may answer: None (send it), a sentence (withhold it, and why)
# or an instant (not before then).
Recheck = Callable[[OutgoingMail, datetime], str | datetime | None]
# Told of each message that certainly never goes out (withheld or failed), in the transaction that
# notes it. A message in doubt is none of them.
Unsent = Callable[[OutgoingMail, datetime], None]


@dataclass
class DeliveryReport:
    """What one round did, in numbers of messages."""

    sent: int = 0
    later: int = 0
    withheld: int = 0
    failed: int = 0
    unsure: int = 0
    no_server: str = ""

    def __str__(self) -> str:
        told = (
            f"{self.sent} sent, {self.withheld} withheld, {self.later} to be tried later, "
            f"{self.failed} failed, {self.unsure} in doubt"
        )
        return f"{told}. {self.no_server}".strip() if self.no_server else told


def deliver_waiting(
    *,
    now: datetime,
    recheck: Recheck,
    unsent: Unsent = lambda mail, now: None,
    transport: Transport | None = None,
    limit: int = ROUND_MAX,
) -> DeliveryReport:
    """Send the messages whose time has come, oldest first, at most `limit` of them.

    Any number of processes may do so at once. One bad message never stops the others. Where the
    mail server cannot be used, everything keeps waiting and the report says so.
    """
    report = DeliveryReport()
    take_back_stale_claims(now=now, report=report)
    waiting = OutgoingMail.objects.waiting(now).order_by("not_before", "id")
    ids = list(waiting.values_list("pk", flat=True)[:limit])
    if not ids:
        return report
    try:
        with transport or chosen_transport() as way:
            this = _Round(now, way, recheck, unsent, report)
            for pk in ids:
                mail = claim_mail(pk, now=this.instant())
                if mail is not None:
                    _deliver(mail, this)
    except NoServerError as error:
        report.no_server = str(error)
        log.warning("%s", error)
    return report


def take_back_stale_claims(*, now: datetime, report: DeliveryReport) -> None:
    """Deal with messages whose sender died: send once more, or leave the doubt to a person."""
    stale = OutgoingMail.objects.filter(state=State.CLAIMED, claimed_at__lt=now - CLAIM_LASTS)
    _doubt(stale, now=now, why="The process that was sending it died.", report=report)


def claim_mail(pk: int, *, now: datetime) -> OutgoingMail | None:
    """Take a waiting message for this process. None if somebody else was faster."""
    token = secrets.token_hex(16)
    rows = OutgoingMail.objects.filter(pk=pk, state=State.QUEUED, not_before__lte=now).update(
        state=State.CLAIMED, claimed_at=now, claim_token=token, attempts=F("attempts") + 1
    )
    return OutgoingMail.objects.get(pk=pk) if rows == 1 else None


def mark_sent(mail: OutgoingMail, *, now: datetime) -> None:
    """Note that the server took the message.

    Also where the claim was taken back meanwhile and nobody has claimed it anew: it did go out.
    """
    OutgoingMail.objects.filter(
        pk=mail.pk, claim_token__in=(mail.claim_token, ""), state__in=_UNFINISHED
    ).update(state=State.SENT, sent_at=now, last_error="", claim_token="")


_UNFINISHED = (State.CLAIMED, State.QUEUED, State.UNSURE)


@dataclass
class _Round:
    """What all messages of one round have in common."""

    began: datetime
    way: Transport
    recheck: Recheck
    unsent: Unsent
    report: DeliveryReport
    clock: float = field(default_factory=monotonic)

    def instant(self) -> datetime:
        # A long round must not date its claims back to its start, or they would look stale.
        return self.began + timedelta(seconds=monotonic() - self.clock)


def _deliver(mail: OutgoingMail, this: _Round) -> None:
    try:
        now = this.instant()
        verdict = _standing_reason(mail, now) or this.recheck(mail, now)
    except Exception as error:
        log.exception("Mail %s could not be looked at again", mail.pk)
        _try_later(mail, f"It could not be looked at again: {error!r}", this)
        return
    if isinstance(verdict, datetime):
        _held(mail).update(
            state=State.QUEUED, not_before=verdict, claim_token="", attempts=F("attempts") - 1
        )
        this.report.later += 1
    elif verdict:
        _never(mail, this, state=State.WITHHELD, withheld_why=verdict[:200])
        this.report.withheld += 1
    else:
        _send(mail, this)


def _send(mail: OutgoingMail, this: _Round) -> None:
    """Hand the message over and note the outcome. Keep this outside any transaction."""
    try:
        message = build_message(mail, at=this.instant())
        this.way.send(message, sender=settings.SHOP_EMAIL, to=wire_address(mail.to_address))
    except RefusedError as error:
        _fail(mail, str(error), this)
        if error.address_is_dead:
            _mark_address_dead(mail, str(error), this.instant())
    except NotSentError as error:
        _try_later(mail, str(error), this)
    except MayBeSentError as error:
        _doubt(_held(mail), now=this.instant(), why=str(error), report=this.report)
    except NoServerError as error:
        _held(mail).update(
            state=State.QUEUED,
            claim_token="",
            attempts=F("attempts") - 1,
            last_error=str(error),
        )
        raise
    except ValueError as error:
        _fail(mail, f"It cannot be written as an e-mail: {error}", this)
    else:
        mark_sent(mail, now=this.instant())
        this.report.sent += 1


def _never(mail: OutgoingMail, this: _Round, **outcome: str) -> None:
    """Note that the message never goes out and tell so, both or neither, if our claim holds."""
    with transaction.atomic():
        if _held(mail).update(claim_token="", **outcome):
            this.unsent(mail, this.instant())


def _held(mail: OutgoingMail) -> "QuerySet[OutgoingMail]":
    """Return the row, as long as our claim holds: a lost claim must not overwrite the winner."""
    return OutgoingMail.objects.filter(
        pk=mail.pk, state=State.CLAIMED, claim_token=mail.claim_token
    )


def _standing_reason(mail: OutgoingMail, now: datetime) -> str | None:
    """Return why the message must not go out, as far as the outbox itself can tell."""
    if mail.send_before and now > mail.send_before:
        return "Not sent: by the time it could go out it was too late to be of use."
    if mail.category and mail.category != "safety":
        silenced = Suppression.objects.filter(
            address=mail.to_address.lower(), category=mail.category
        )
        if silenced.exists():
            return f"Not sent: {mail.to_address} asked for no more of these messages."
    if mail.customer_id:
        broken = EmailAddress.objects.filter(
            customer_id=mail.customer_id,
            address__iexact=mail.to_address,
            broken_since__isnull=False,
        ).first()
        if broken:
            return f"Not sent: {mail.to_address} is known not to work."
    return None


def _doubt(
    mails: "QuerySet[OutgoingMail]", *, now: datetime, why: str, report: DeliveryReport
) -> None:
    """Settle claims of which nobody knows whether the message went out."""
    once_more = Q(after_crash=AfterCrash.REPEAT_ONCE, crashes=0)
    report.unsure += mails.exclude(once_more).update(
        state=State.UNSURE, crashes=F("crashes") + 1, claim_token="", last_error=why
    )
    report.later += mails.filter(once_more).update(
        state=State.QUEUED,
        crashes=F("crashes") + 1,
        claim_token="",
        not_before=now,
        last_error=f"{why} It is sent once more, with the same Message-ID.",
    )


def _try_later(mail: OutgoingMail, why: str, this: _Round) -> None:
    if mail.attempts >= ATTEMPTS_MAX:
        _fail(mail, f"Given up after {mail.attempts} tries. {why}", this)
        return
    wait = BACK_OFF[min(mail.attempts, len(BACK_OFF)) - 1]
    _held(mail).update(
        state=State.QUEUED,
        not_before=this.instant() + timedelta(minutes=wait),
        claim_token="",
        last_error=why,
    )
    this.report.later += 1


def _fail(mail: OutgoingMail, why: str, this: _Round) -> None:
    _never(mail, this, state=State.FAILED, last_error=why)
    this.report.failed += 1


def _mark_address_dead(mail: OutgoingMail, why: str, now: datetime) -> None:
    """Note on each customer who uses the address that it does not work."""
    for row in EmailAddress.objects.filter(address__iexact=mail.to_address, broken_since=None):
        EmailAddress.objects.filter(pk=row.pk).update(
            broken_since=shop_date(now), broken_why=why[:200]
        )
        record_event(
            actor=PULLPIN,
            verb="marked as not working",
            subject=row,
            after={"address": row.address, "said": why},
            customer_id=row.customer_id,
        )
