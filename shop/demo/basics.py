"""Kinds of part, checks and service rules of the demo, from kinds.json and rules.json."""

import json
from datetime import date
from functools import cache
from typing import Any

from installs.models import Check, ComponentKind
from installs.services import parts
from shop.reminders.models import ServiceRule
from shop.reminders.services import save_rule
from vehicles.records import Actor, record_event

from .documents import FOLDER, catalogue, role_of


@cache
def _told() -> dict[str, Any]:
    told: dict[str, Any] = json.loads((FOLDER / "rules.json").read_text(encoding="utf-8"))
    return told


def check_of_kind() -> dict[str, str]:
    """Return for each kind of part that is looked at every so many months the check that is due."""
    return {rule["kind"]: rule["check"] for rule in _told()["rules"] if "months" in rule}


def add_kinds(*, actor: Actor) -> dict[str, ComponentKind]:
    """Add every kind of part; returns them by their code."""
    return {code: _kind(code, told, actor) for code, told in catalogue().items()}


def _kind(code: str, told: dict[str, Any], actor: Actor) -> ComponentKind:
    return parts.add_kind(
        actor=actor,
        slug=code,
        name=told["name"],
        ports=told.get("ports", []),
        cures=told.get("cures", []),
        cure_text=told.get("cure_text", ""),
        duty=told.get("duty", ""),
        role=role_of(code),
        **told.get("about", {}),
    )


def add_checks(*, actor: Actor) -> dict[str, Check]:
    """Add every named check; returns them by their code."""
    checks = {}
    for slug, told in _told()["checks"].items():
        checks[slug] = Check.objects.create(slug=slug, **told)
        record_event(actor=actor, verb="added check", subject=checks[slug], after=told)
    return checks


def add_rules(
    *,
    kinds: dict[str, ComponentKind],
    checks: dict[str, Check],
    today: date,
    actor: Actor,
) -> list[ServiceRule]:
    """Add every service rule, and with it the due items of what is fitted."""
    rules = []
    for told in _told()["rules"]:
        fields = dict(told)
        kind, check = fields.pop("kind", None), fields.pop("check", None)
        if kind:
            fields |= {"kind": kinds[kind], "check_asked": checks[check]}
        rules.append(save_rule(fields=fields, today=today, actor=actor))
    return rules
