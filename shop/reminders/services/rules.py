"""Saving the owner's rules; each version is kept with the sentence that it made."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from shop.people.models import Category
from shop.reminders.domain.plan import rule_sentence
from shop.reminders.models import ServiceRule, ServiceRuleVersion
from vehicles.records import Actor, change_record, plain, record_event

from .planning import refresh_rule, terms_of

Trigger = ServiceRule.Trigger
RULE_FIELDS = (
    "name",
    "kind",
    "check_asked",
    "trigger",
    "months",
    "years",
    "count_from",
    "lead_days",
    "repeat_days",
    "mails_max",
    "category",
    "risk",
    "what",
    "why",
    "todo",
    "basis",
    "active",
)


def sentence(rule: ServiceRule) -> str:
    """Return the rule as its owner reads it, for example on the page where it is edited."""
    return rule_sentence(
        terms_of(rule),
        part=rule.kind.name if rule.kind else "",
        check=rule.check_asked.name.lower() if rule.check_asked else "",
    )


@transaction.atomic
def save_rule(
    *,
    fields: Mapping[str, Any],
    today: date,
    actor: Actor,
    rule: ServiceRule | None = None,
    version: int = 1,
    why: str = "",
) -> ServiceRule:
    """Add a rule or change one, keep the version, and bring all its due items in line.

    Raises ValidationError with a sentence per field, `Clash` where the rule was changed since
    `version` was read.
    """
    draft = ServiceRule.objects.get(pk=rule.pk) if rule else ServiceRule()
    for name, value in fields.items():
        setattr(draft, name, value)
    _check(draft)
    if rule is None:
        draft.save(force_insert=True)
        saved = draft
        record_event(actor=actor, verb="added rule", subject=saved, after=_content(saved), why=why)
    else:
        saved = change_record(
            record=rule,
            changes=fields,
            version=version,
            actor=actor,
            verb="changed rule",
            why=why,
        )
    ServiceRuleVersion.objects.get_or_create(
        rule=saved,
        version=saved.version,
        defaults={
            "sentence": sentence(saved),
            "content": _content(saved),
            "written_by": actor.name,
        },
    )
    refresh_rule(rule=saved, today=today)
    return saved


_DATED = {Trigger.MONTHS, Trigger.DATE_CODE}


def _check(rule: ServiceRule) -> None:
    # The database's own constraints speak of names of columns; the sentences below are for people.
    rule.full_clean(validate_constraints=False)
    rule.validate_unique()
    by_months, dated = rule.trigger == Trigger.MONTHS, rule.trigger in _DATED
    wrong = (
        (
            "trigger",
            rule.trigger == Trigger.DISTANCE,
            "Rules by distance cannot be worked out yet.",
        ),
        ("kind", dated and not rule.kind, "Say which kind of part the rule is about."),
        ("months", by_months and not rule.months, "Say after how many months, at least 1."),
        (
            "check_asked",
            by_months and not rule.check_asked,
            "Say which check has to be done: only that one closes the item.",
        ),
        ("years", rule.trigger == Trigger.DATE_CODE and not rule.years, "Say how many years."),
        (
            "category",
            rule.trigger == Trigger.EVENT and rule.category != Category.SAFETY,
            "A proof that no longer stands is told as a safety notice.",
        ),
        (
            "repeat_days",
            rule.mails_max > 1 and rule.repeat_days < 1,
            "Leave at least one day between two mails.",
        ),
    )
    faults = {name: told for name, is_wrong, told in wrong if is_wrong}
    if faults:
        raise ValidationError(faults)


def _content(rule: ServiceRule) -> dict[str, Any]:
    return {name: plain(getattr(rule, name)) for name in RULE_FIELDS}
