"""The due items of a generated fleet, planned by the same calculation as everywhere."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from installs.domain.intervals import in_words
from installs.models import Fitting, Inspection, Reverification
from shop.people.models import Customer
from shop.reminders.domain.plan import (
    Look,
    Planned,
    next_contact,
    plan_by_date_code,
    plan_by_event,
    plan_by_months,
)
from shop.reminders.models import DueItem, ServiceRule
from shop.reminders.services.planning import terms_of
from vehicles.models import Vehicle

Trigger = ServiceRule.Trigger


@dataclass(frozen=True)
class Case:
    """A vehicle with all that its due items count from; `looks` by the fitting's number."""

    vehicle: Vehicle
    owner: Customer
    fittings: Sequence[Fitting]
    looks: dict[int, Inspection]
    doubt: Reverification | None


class Planner:
    """Plans by the rules that are in use; the same rules for a whole fleet."""

    def __init__(self, today: date) -> None:
        self.today = today
        self.rules = list(ServiceRule.objects.filter(active=True).order_by("pk"))
        self.terms = {rule.pk: terms_of(rule) for rule in self.rules}

    def monthly_check(self, kind_id: int) -> int | None:
        """Return the check that is due every so many months on a part of this kind."""
        for rule in self.rules:
            if rule.kind_id == kind_id and rule.trigger == Trigger.MONTHS:
                return rule.check_asked_id
        return None

    def items(self, case: Case) -> Iterator[DueItem]:
        """What is due of this vehicle, and what was done a year before."""
        for rule in self.rules:
            if rule.trigger != Trigger.EVENT:
                for fitting in case.fittings:
                    if fitting.component.kind_id == rule.kind_id:
                        yield from self._dated(case, rule, fitting)
            elif case.doubt is not None:
                planned = plan_by_event(
                    reverification_id=case.doubt.pk,
                    opened_on=case.doubt.opened_on,
                    cause=case.doubt.get_cause_display(),
                )
                item = self._open(case, rule, planned)
                item.reverification = case.doubt
                yield item

    def _dated(self, case: Case, rule: ServiceRule, fitting: Fitting) -> Iterator[DueItem]:
        terms = self.terms[rule.pk]
        if rule.trigger == Trigger.DATE_CODE:
            planned = plan_by_date_code(
                terms,
                fitting_id=fitting.pk,
                fitted_on=fitting.since,
                date_code=fitting.component.date_code,
            )
            yield self._open(case, rule, planned, fitting)
            return
        look = case.looks[fitting.pk]
        before, after = (
            plan_by_months(terms, fitting_id=fitting.pk, fitted_on=fitting.since, looks=looks)
            for looks in ((), [Look(look.pk, look.done_on)])
        )
        yield self._open(case, rule, after, fitting)
        if fitting.since < look.done_on:
            done = self._open(case, rule, before, fitting)
            done.state, done.closed_on, done.contact_on = DueItem.State.DONE, look.done_on, None
            done.silence = f"Done on {in_words(look.done_on)}."
            yield done

    def _open(
        self, case: Case, rule: ServiceRule, planned: Planned, fitting: Fitting | None = None
    ) -> DueItem:
        contact = next_contact(
            self.terms[rule.pk],
            due_on=planned.due_on,
            mails=0,
            last_mail_on=None,
            today=self.today,
        )
        return DueItem(
            rule=rule,
            rule_version=rule.version,
            vehicle=case.vehicle,
            fitting=fitting,
            customer=case.owner,
            anchor_key=planned.key,
            anchor_on=planned.anchor_on,
            due_on=planned.due_on,
            reason=planned.reason[:300],
            risk=rule.risk,
            category=rule.category,
            contact_on=contact.on,
            silence=contact.silence,
        )
