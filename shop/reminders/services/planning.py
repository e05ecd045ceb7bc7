"""Keeping the due items in line with rules, fittings, inspections, proofs and owners."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from django.db import transaction
from django.db.models import Max, Q

from installs.domain.intervals import in_words
from installs.models import Fitting, Reverification
from shop.people.models import Category, Ownership
from shop.reminders.domain.plan import (
    FAILED,
    NOT_TOWED,
    Contact,
    Planned,
    Terms,
    cured_by,
    next_contact,
    plan_by_date_code,
    plan_by_event,
    plan_by_months,
    plan_not_towed,
)
from shop.reminders.models import DueItem, Reminder, ServiceRule

from .causes import forbidden, looks_at
from .reach import NO_OWNER, Reach, reach_of

State = DueItem.State
Trigger = ServiceRule.Trigger
# Rule, fitting or None, vehicle, what it counts from: the same as the constraints of the table.
Key = tuple[int, int | None, int, str]
CHUNK = 500
HIGH_RISK = 3

_PLANNED = ("rule_version", "anchor_on", "due_on", "reason", "risk", "category", "customer_id")
_SAID = ("state", "contact_on", "booked_for", "closed_on", "silence", "mails_before")
T = TypeVar("T")


def chunks(rows: Sequence[T], size: int) -> Iterator[Sequence[T]]:
    """Cut `rows` into pieces of at most `size`."""
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def terms_of(rule: ServiceRule) -> Terms:
    """Return the rule's figures as plain values."""
    return Terms(
        trigger=rule.trigger,
        months=rule.months,
        years=rule.years,
        fixed=rule.count_from == ServiceRule.Count.FIXED,
        lead_days=rule.lead_days,
        repeat_days=rule.repeat_days,
        mails_max=rule.mails_max,
    )


def refresh_due(*, vehicle_ids: Iterable[int], today: date, rule_id: int | None = None) -> None:
    """Work the due items of these vehicles out anew, in a fixed number of queries per 500.

    New ones are made, dates move on the same row, what was done or fell away is closed, the owner
    is the one of today. A second call changes nothing. `rule_id` limits it to the
    items of one rule.
    """
    for ids in chunks(sorted(set(vehicle_ids)), CHUNK):
        with transaction.atomic():
            _Refresh(ids, today, rule_id).write()


def refresh_customer(*, customer_id: int, today: date) -> None:
    """Refresh a customer's items: an address, a consent or a name changed."""
    owned = Ownership.objects.current().filter(customer=customer_id)
    told = DueItem.objects.open().filter(customer=customer_id)
    refresh_due(
        vehicle_ids={
            *owned.values_list("vehicle", flat=True),
            *told.values_list("vehicle", flat=True),
        },
        today=today,
    )


def refresh_rule(*, rule: ServiceRule, today: date) -> None:
    """Refresh whatever a rule concerns, or concerned until now."""
    standing = DueItem.objects.open().filter(rule=rule)
    ids = set(standing.values_list("vehicle", flat=True))
    if rule.trigger == Trigger.EVENT:
        ids.update(Reverification.objects.open().values_list("vehicle", flat=True))
    elif rule.kind_id:
        fitted = Fitting.objects.current().filter(component__kind=rule.kind_id)
        ids.update(fitted.values_list("vehicle", flat=True))
    refresh_due(vehicle_ids=ids, today=today, rule_id=rule.pk)


def refresh_all(*, today: date) -> int:
    """Refresh every vehicle that has or should have items; returns how many vehicles.

    The nightly safety net: it finds what no service told us of.
    """
    ids = set(Fitting.objects.current().values_list("vehicle", flat=True).distinct())
    ids.update(DueItem.objects.open().values_list("vehicle", flat=True).distinct())
    ids.update(Reverification.objects.open().values_list("vehicle", flat=True))
    refresh_due(vehicle_ids=ids, today=today)
    return len(ids)


@dataclass
class _Refresh:
    """One chunk of vehicles: what is, what should be, and the difference written."""

    vehicle_ids: Sequence[int]
    today: date
    rule_id: int | None
    changed: list[DueItem] = field(default_factory=list)
    fresh: list[DueItem] = field(default_factory=list)

    def write(self) -> None:
        self._load()
        standing = self._standing()
        wanted = self._wanted(standing)
        for key, item in standing.items():
            if key not in wanted and item.closed_on is None:
                self._close(item, wanted)
        for key, planned in wanted.items():
            self._keep(key, planned, standing.get(key))
        # Closing first: only one open item may stand for a fitting and rule at any moment.
        closing = [item for item in self.changed if item.closed_on]
        for rows in (closing, [item for item in self.changed if not item.closed_on]):
            DueItem.objects.bulk_update(rows, [*_COLUMNS], batch_size=100)
        # Another process may have made the same row from the same facts in the meantime.
        DueItem.objects.bulk_create(self.fresh, ignore_conflicts=True)

    def _load(self) -> None:
        rules = ServiceRule.objects.exclude(trigger=Trigger.DISTANCE)
        if self.rule_id is not None:
            rules = rules.filter(pk=self.rule_id)
        self.rules = {rule.pk: rule for rule in rules}
        self.terms = {pk: terms_of(rule) for pk, rule in self.rules.items()}
        self.fittings = list(
            Fitting.objects.current()
            .filter(vehicle__in=self.vehicle_ids)
            .values_list("pk", "vehicle", "component", "component__kind", "component__date_code")
        )
        self.component_of = {row[0]: row[2] for row in self.fittings}
        rows = Fitting.objects.filter(component__in={row[2] for row in self.fittings})
        latest_first = rows.order_by("-since", "-pk").values_list("component", "since")
        self.first_fitted = dict(latest_first)  # the earliest is written last
        self.owners = dict(
            Ownership.objects.current()
            .filter(vehicle__in=self.vehicle_ids)
            .values_list("vehicle", "customer")
        )
        self.reach = reach_of(self.owners.values())

    def _wanted(self, standing: dict[Key, DueItem]) -> dict[Key, Planned]:
        active = [rule for rule in self.rules.values() if rule.active]
        by_months = [rule for rule in active if rule.trigger == Trigger.MONTHS]
        self.looks = looks_at(
            components=set(self.component_of.values()),
            checks={rule.check_asked_id for rule in by_months},
            until=self.today,
        )
        wanted: dict[Key, Planned] = {}
        for rule in active:
            terms = self.terms[rule.pk]
            if rule.trigger == Trigger.EVENT:
                continue
            for pk, vehicle, component, kind, code in self.fittings:
                if kind != rule.kind_id:
                    continue
                since = self.first_fitted[component]
                if rule.trigger == Trigger.MONTHS:
                    looks = self.looks.get((component, rule.check_asked_id), ())
                    planned = plan_by_months(terms, fitting_id=pk, fitted_on=since, looks=looks)
                else:
                    planned = plan_by_date_code(
                        terms, fitting_id=pk, fitted_on=since, date_code=code
                    )
                wanted[rule.pk, pk, vehicle, planned.key] = planned
        wanted.update(self._wanted_by_events(active, standing))
        return wanted

    def _wanted_by_events(
        self, rules: Sequence[ServiceRule], standing: dict[Key, DueItem]
    ) -> dict[Key, Planned]:
        events = [rule for rule in rules if rule.trigger == Trigger.EVENT]
        self.proofs: dict[int, Reverification] = {}
        if not any(rule.trigger == Trigger.EVENT for rule in self.rules.values()):
            return {}
        still_told = Q(due_items__isnull=False, due_items__closed_on=None)
        rows = Reverification.objects.filter(
            Q(state=Reverification.State.OPEN) | still_told, vehicle__in=self.vehicle_ids
        )
        self.proofs = {row.pk: row for row in rows.distinct()}
        wanted: dict[Key, Planned] = {}
        not_towed = forbidden(self.vehicle_ids) if events else {}
        for proof in self.proofs.values():
            if proof.state != Reverification.State.OPEN or proof.vehicle_id in not_towed:
                continue
            planned = plan_by_event(
                reverification_id=proof.pk,
                opened_on=proof.opened_on,
                cause=proof.get_cause_display(),
            )
            for rule in events:
                wanted[rule.pk, None, proof.vehicle_id, planned.key] = planned
        for vehicle, (revision, source) in not_towed.items():
            for rule in events:
                key = (rule.pk, None, vehicle, f"{NOT_TOWED}{revision}")
                known = standing.get(key)
                # The day on which we noticed; the revision may be older than the vehicle is here.
                on = known.due_on if known and known.closed_on is None else self.today
                wanted[key] = plan_not_towed(revision_id=revision, source=source, noticed_on=on)
        return wanted

    def _standing(self) -> dict[Key, DueItem]:
        # Locked, so that a tick cannot count a mail between our look and our writing.
        items = DueItem.objects.select_for_update().filter(
            vehicle__in=self.vehicle_ids, rule__in=self.rules
        )
        rows = {
            (item.rule_id, item.fitting_id, item.vehicle_id, item.anchor_key): item
            for item in items.order_by("id")
        }
        self.before = {item.pk: _values(item) for item in rows.values()}
        said = [item.pk for item in rows.values() if item.mails_sent]
        ledger = Reminder.objects.counted().filter(item__in=said).order_by().values_list("item")
        self.last_mail = dict(ledger.annotate(Max("on")))
        return rows

    def _keep(self, key: Key, planned: Planned, item: DueItem | None) -> None:
        rule_id, fitting_id, vehicle_id, anchor_key = key
        rule = self.rules[rule_id]
        if item is None:
            item = DueItem(
                rule_id=rule_id,
                fitting_id=fitting_id,
                vehicle_id=vehicle_id,
                anchor_key=anchor_key,
            )
            if anchor_key.startswith("reverify:"):
                item.reverification_id = int(anchor_key.partition(":")[2])
            self.fresh.append(item)
        owner = self.owners.get(vehicle_id)
        if item.pk and owner != item.customer_id:
            # The new owner has heard nothing yet: the count of mails starts over for them.
            item.mails_before = item.mails_sent
        item.rule_version, item.risk, item.category = rule.version, rule.risk, rule.category
        if planned.failed and planned.failed.grave:
            item.risk, item.category = HIGH_RISK, Category.SAFETY
        item.anchor_on, item.due_on = planned.anchor_on, planned.due_on
        item.reason, item.customer_id = planned.reason[:300], owner
        if item.booked_for and item.booked_for < self.today:
            item.booked_for = None
        item.state = State.BOOKED if item.booked_for else State.OPEN
        item.closed_on = None
        contact = self._contact(item)
        item.contact_on, item.silence = contact.on, contact.silence[:200]
        self._note(item)

    def _contact(self, item: DueItem) -> Contact:
        return contact_of(
            item,
            terms=self.terms[item.rule_id],
            reach=self.reach.get(item.customer_id or 0),
            last_mail_on=self.last_mail.get(item.pk),
            today=self.today,
        )

    def _close(self, item: DueItem, wanted: dict[Key, Planned]) -> None:
        state, on, why = self._why_closed(item, wanted)
        item.state, item.closed_on, item.silence = state, on, why
        item.contact_on = item.booked_for = None
        self._note(item)

    def _why_closed(self, item: DueItem, wanted: dict[Key, Planned]) -> tuple[str, date, str]:
        """Return state, day and words for an open item that is no longer wanted."""
        if not self.rules[item.rule_id].active:
            return State.WITHDRAWN, self.today, "The rule is no longer in use."
        if item.reverification_id:
            proof = self.proofs.get(item.reverification_id)
            if proof and proof.state == Reverification.State.DONE:
                on = proof.closed_on or self.today
                return State.DONE, on, f"Proven on {in_words(on)}."
            return State.WITHDRAWN, self.today, "A new proof is no longer asked for."
        if item.anchor_key.startswith(NOT_TOWED):
            return State.WITHDRAWN, self.today, "No procedure in force forbids it any more."
        for (rule_id, fitting_id, _, _), planned in wanted.items():
            if (rule_id, fitting_id) == (item.rule_id, item.fitting_id):
                return self._why_replaced(item, planned)
        if any(item.fitting_id == row[0] for row in self.fittings):
            return State.WITHDRAWN, self.today, "The rule no longer concerns this part."
        return State.WITHDRAWN, self.today, "The part is no longer on the vehicle."

    def _why_replaced(self, item: DueItem, planned: Planned) -> tuple[str, date, str]:
        """The same about an item in whose place another one stands for this part and rule."""
        component = self.component_of[item.fitting_id or 0]
        looks = self.looks.get((component, self.rules[item.rule_id].check_asked_id), ())
        if item.anchor_key.startswith(FAILED):
            first = int(item.anchor_key.removeprefix(FAILED))
            cure = cured_by(looks, first_bad=first, since=item.anchor_on)
            if cure is not None:
                return State.DONE, cure.on, f"Good when looked at on {in_words(cure.on)}."
            gone = f"The look of {in_words(item.anchor_on)} no longer stands as it was recorded."
            return State.WITHDRAWN, self.today, gone
        if planned.failed and planned.instead_of == item.anchor_key:
            failed = planned.failed
            told = f"The part {failed.came} on {in_words(failed.on)} and is due at once instead."
            return State.WITHDRAWN, self.today, told
        done = (planned.instead_of or planned.key).removeprefix("inspection:")
        for look in looks:
            if str(look.id) == done:
                return State.DONE, look.on, f"Done on {in_words(look.on)}."
        return State.WITHDRAWN, self.today, "It counts from another day now."

    def _note(self, item: DueItem) -> None:
        if item.pk and _values(item) != self.before[item.pk]:
            self.changed.append(item)


_COLUMNS = (*_PLANNED, *_SAID)


def _values(item: DueItem) -> tuple[object, ...]:
    return tuple(getattr(item, name) for name in _COLUMNS)


def contact_of(
    item: DueItem,
    *,
    terms: Terms,
    reach: Reach | None,
    last_mail_on: date | None,
    today: date,
) -> Contact:
    """Return when the item's owner hears of it next; `reach` None means that it has no owner."""
    return next_contact(
        terms,
        due_on=item.due_on,
        mails=item.mails_sent - item.mails_before,
        last_mail_on=last_mail_on,
        today=today,
        unreachable=reach.route(item.category).why if reach else NO_OWNER,
        booked_for=item.booked_for,
        snoozed_until=item.snoozed_until,
    )
