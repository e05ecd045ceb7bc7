"""The tick: say what has come due, once, in one message per customer, day and category.

It looks only at items whose day of contact has come, so it costs what is due and not what is
stored. Unique keys decide between two ticks at once; whatever they refuse is looked at again,
customer by customer.
"""

import logging
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef

from installs.models import Standing
from installs.services.proof import NEVER_PROVEN
from shop.outbox.bulk import insert_rows
from shop.outbox.reads import keys_taken
from shop.outbox.services import Letter, queue_mails
from shop.people.models import Ownership
from shop.reminders.domain.plan import FAILED, NOT_TOWED, Terms, next_contact
from shop.reminders.models import DueItem, Heartbeat, Reminder, ServiceRule

from .digest import Digest, ItemWords, Written, digest_headers, write_digest
from .hours import sending_time
from .planning import chunks, refresh_due, terms_of
from .reach import NO_OWNER, Reach, reach_of
from .tokens import stop_url

log = logging.getLogger(__name__)

Render = Callable[[Digest], Written]
Row = dict[str, Any]
# A digest that could not go out for so long is not sent late: `unsaid` brings its items up again.
GOOD_FOR = timedelta(days=5)
NOT_TWICE = "Comes with tomorrow's mail: today's had been written already."


@dataclass
class TickReport:
    """What one tick did: how many items were due, what became of them, who could not be served."""

    day: date
    due: int = 0
    digests: int = 0
    said: int = 0
    silent: int = 0
    postponed: int = 0
    failed: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        told = (
            f"{self.due} due, {self.said} of them said in {self.digests} digests, "
            f"{self.silent} kept silent, {self.postponed} left for tomorrow"
        )
        return f"{told}, {len(self.failed)} customers failed" if self.failed else told


class _OvertakenError(Exception):
    """Somebody else changed the items between our look and our writing."""


@dataclass
class _Draft:
    """One message to be, with the items it mentions."""

    letter: Letter
    rows: Sequence[Row]


@dataclass
class _Batch:
    """What is to be written for some customers: messages, and silences by their words."""

    drafts: list[_Draft] = field(default_factory=list)
    silences: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    postponed: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    failed: dict[int, str] = field(default_factory=dict)


def run_tick(
    *, now: datetime, today: date, batch: int = 500, render: Render = write_digest
) -> TickReport:
    """Queue the digests of everything whose day of contact has come; repeat it at will.

    `today` is the shop's local date of `now`. A customer whose message cannot be written is left
    for tomorrow, reported and shown among the silences; the others are not kept waiting.
    """
    report = TickReport(day=today)
    due = DueItem.objects.to_be_said(today)
    missed = due.filter(state=DueItem.State.BOOKED).values_list("vehicle", flat=True)
    refresh_due(vehicle_ids=list(missed), today=today)
    due = due.filter(state=DueItem.State.OPEN)
    due.filter(customer=None).update(contact_on=None, silence=NO_OWNER)
    # Sorted here and not by the database, which would rather walk an index of all customers.
    items: dict[int, list[int]] = defaultdict(list)
    for customer_id, pk in due.order_by().values_list("customer", "pk"):
        items[customer_id].append(pk)
    tick = _Tick(now, today, render, report)
    for customers in chunks(sorted(items), batch):
        tick.say_to([items[customer_id] for customer_id in customers])
    Heartbeat.objects.update_or_create(
        name="due_tick", defaults={"at": now, "said": str(report)[:200]}
    )
    return report


class _Tick:
    def __init__(self, now: datetime, today: date, render: Render, report: TickReport) -> None:
        self.now, self.today, self.render, self.report = now, today, render, report
        self.tomorrow = today + timedelta(days=1)
        self.rules = {rule.pk: rule for rule in ServiceRule.objects.all()}
        self.terms: dict[int, Terms] = {pk: terms_of(rule) for pk, rule in self.rules.items()}
        self.sending_times: dict[str, datetime] = {}

    def say_to(self, items: Sequence[Sequence[int]]) -> None:
        """Serve the owners of these items together, or one by one where together is refused."""
        batch = self.prepare([pk for ids in items for pk in ids])
        try:
            self.write(batch)
        except (IntegrityError, _OvertakenError, ValueError) as error:
            if len(items) > 1:
                for ids in items:
                    self.say_to([ids])
            elif isinstance(error, ValueError):
                self.leave_for_tomorrow(items[0], str(error))
            # Otherwise another tick has just served this customer.

    def prepare(self, ids: Sequence[int]) -> _Batch:
        """Read and render; nothing is locked meanwhile."""
        batch = _Batch()
        groups: dict[tuple[int, str], list[Row]] = defaultdict(list)
        for row in self.read(ids):
            if row["owned"]:
                groups[row["customer_id"], row["category"]].append(row)
            else:
                batch.silences[NO_OWNER].append(row["pk"])
        reach = reach_of({customer_id for customer_id, _ in groups})
        taken = keys_taken([self.key(*group) for group in groups])
        for (customer_id, category), mine in groups.items():
            told = [row["pk"] for row in mine]
            route = reach[customer_id].route(category)
            if not route.address:
                batch.silences[route.why] += told
            elif self.key(customer_id, category) in taken:
                batch.postponed[NOT_TWICE] += told
            else:
                self.draft(batch, reach[customer_id], category, route.address, mine)
        return batch

    def read(self, ids: Sequence[int]) -> list[Row]:
        """Return those of the items that are still due."""
        # Should nobody have told us that the vehicle was sold.
        owned = Exists(
            Ownership.objects.current().filter(
                vehicle=OuterRef("vehicle"), customer=OuterRef("customer")
            )
        )
        due = self.still_due(ids).order_by("customer", "pk")
        return list(due.values(*_READ, owned=owned))

    def key(self, customer_id: int, category: str) -> str:
        return f"digest:{customer_id}:{self.today.isoformat()}:{category}"

    def draft(
        self, batch: _Batch, reach: Reach, category: str, address: str, rows: Sequence[Row]
    ) -> None:
        """Render the message; what goes wrong with one customer must not stop the others."""
        digest = Digest(
            customer_id=reach.id,
            name=reach.name,
            called=reach.called,
            language=reach.language,
            address=address,
            stop_url=stop_url(customer_id=reach.id, category=category, address=address),
            category=category,
            day=self.today,
            items=[self.words(row) for row in rows],
        )
        try:
            written = self.render(digest)
            not_before = self.sending_time(reach.time_zone)
        except Exception as error:
            log.exception("The digest of customer %s could not be written", reach.id)
            batch.failed[reach.id] = repr(error)
            why = f"No mail today: it could not be written ({type(error).__name__})."
            batch.postponed[why] += [row["pk"] for row in rows]
            return
        letter = Letter(
            key=self.key(reach.id, category),
            kind="digest",
            category=category,
            customer_id=reach.id,
            to_address=address,
            to_name=reach.name,
            subject=written.subject,
            text=written.text,
            html=written.html,
            headers=digest_headers(digest),
            not_before=not_before,
            send_before=not_before + GOOD_FOR,
        )
        batch.drafts.append(_Draft(letter, rows))

    def words(self, row: Row) -> ItemWords:
        return words_of(row, self.rules[row["rule_id"]])

    def sending_time(self, time_zone: str) -> datetime:
        if time_zone not in self.sending_times:
            self.sending_times[time_zone] = sending_time(self.now, time_zone)
        return self.sending_times[time_zone]

    def write(self, batch: _Batch) -> None:
        """Claim the items, queue the messages and keep the ledger, together or not at all."""
        rows = [row for draft in batch.drafts for row in draft.rows]
        with transaction.atomic():
            self.claim(rows)
            mails = queue_mails([draft.letter for draft in batch.drafts])
            insert_rows(
                Reminder,
                [
                    {
                        "item_id": row["pk"],
                        "nth": row["mails_sent"] + 1,
                        "on": self.today,
                        "mail_id": mail_id,
                    }
                    for draft, mail_id in zip(batch.drafts, mails, strict=True)
                    for row in draft.rows
                ],
            )
            silent = sum(self.quieten(ids, why, until=None) for why, ids in batch.silences.items())
            postponed = sum(
                self.quieten(ids, why, until=self.tomorrow) for why, ids in batch.postponed.items()
            )
        report = self.report
        report.due += len(rows) + silent + postponed
        report.said += len(rows)
        report.digests += len(mails)
        report.silent += silent
        report.postponed += postponed
        report.failed += [f"customer {pk}: {why}" for pk, why in batch.failed.items()]

    def claim(self, rows: Sequence[Row]) -> None:
        """Move the items on to their next day of contact, if they still stand as we read them."""
        groups: dict[tuple[int, date | None, str], list[int]] = defaultdict(list)
        for row in rows:
            mails = row["mails_sent"] + 1
            contact = next_contact(
                self.terms[row["rule_id"]],
                due_on=row["due_on"],
                mails=mails - row["mails_before"],
                last_mail_on=self.today,
                today=self.tomorrow,
            )
            groups[mails, contact.on, contact.silence].append(row["pk"])
        for (mails, on, silence), ids in groups.items():
            moved = self.still_due(ids, mails_sent=mails - 1).update(
                mails_sent=mails, contact_on=on, silence=silence
            )
            if moved != len(ids):
                raise _OvertakenError

    def quieten(self, ids: Sequence[int], why: str, *, until: date | None) -> int:
        moved: int = self.still_due(ids).update(contact_on=until, silence=why[:200])
        return moved

    def still_due(self, ids: Sequence[int], **also: int) -> Any:
        return DueItem.objects.to_be_said(self.today).filter(
            pk__in=ids, state=DueItem.State.OPEN, **also
        )

    def leave_for_tomorrow(self, ids: Sequence[int], why: str) -> None:
        left = self.quieten(ids, f"No mail today: {why}", until=self.tomorrow)
        self.report.postponed += left
        self.report.due += left
        self.report.failed.append(f"items {', '.join(map(str, ids))}: {why}")


_READ = (
    "pk",
    "customer_id",
    "vehicle_id",
    "rule_id",
    "category",
    "due_on",
    "reason",
    "risk",
    "mails_sent",
    "mails_before",
    "vehicle__year",
    "vehicle__make",
    "vehicle__model",
    "vehicle__plate",
    "reverification__differences",
    "anchor_key",
    "vehicle__standing__told",
    "vehicle__standing__proof",
)


# What, why and what to do of a vehicle that nobody may tow on its wheels.
NOT_TOWED_WORDS = (
    "Not to be towed on its own wheels",
    "Gearbox or drive can be damaged and seize on the road, which locks the wheels.",
    "Please do not tow it on its own wheels; it can travel on a trailer that carries all four. "
    "Ask us or the vehicle's maker what else can be done.",
)


def _when(key: str) -> str:
    if key.startswith(FAILED):
        return "now"
    return "news" if key.startswith((NOT_TOWED, "reverify:")) else "on"


def what_customer_reads(item: DueItem) -> tuple[str, str, str]:
    """Return what is due, why it matters and what to do, as the customer reads it."""
    return _words_about(item.anchor_key, item.rule)


def _words_about(key: str, rule: ServiceRule) -> tuple[str, str, str]:
    if key.startswith(NOT_TOWED):
        return NOT_TOWED_WORDS
    return rule.what, rule.why, rule.todo


def words_of(row: Row, rule: ServiceRule) -> ItemWords:
    """Return what the customer reads of an item; `row` holds the columns of `_READ`."""
    parts = (row["vehicle__year"], row["vehicle__make"], row["vehicle__model"])
    key, blocks = row["anchor_key"], tuple(row["vehicle__standing__told"] or ())
    what, why, todo = _words_about(key, rule)
    told = row["reverification__differences"]
    return ItemWords(
        vehicle_id=row["vehicle_id"],
        vehicle=" ".join(str(part) for part in parts if part),
        plate=row["vehicle__plate"],
        what=what,
        why=why,
        todo=todo,
        reason=row["reason"],
        due_on=row["due_on"],
        risk=row["risk"],
        # What the letter led with is not said twice, and matters more than a missing proof.
        differences=[line for line in told or () if line not in (*blocks, blocks and NEVER_PROVEN)],
        blocks=blocks,
        forbidden=row["vehicle__standing__proof"] == Standing.Proof.NOT_TOWED,
        when=_when(key),
    )
