"""How a record is changed: one guarded UPDATE and one line in the log, together or not at all."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, TypeVar

from django.db import models, transaction

from .models import Event

Record = TypeVar("Record", bound=models.Model)


@dataclass(frozen=True)
class Actor:
    """Who does it. `id` is None for Pullpin itself and for customers."""

    name: str
    id: int | None = None


PULLPIN = Actor("Pullpin")


class Clash(Exception):  # noqa: N818 - it is what happened, not a fault of the program
    """Somebody else changed the record since it was read. `current` is how it stands now."""

    def __init__(self, current: models.Model) -> None:
        super().__init__("This record was changed by someone else in the meantime.")
        self.current = current


def plain(value: Any) -> Any:
    """Return `value` in a form that JSON can hold, for the log."""
    if isinstance(value, models.Model):
        return {"id": value.pk, "is": str(value)}
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    return value


def record_event(
    *,
    actor: Actor,
    verb: str,
    subject: models.Model,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    why: str = "",
    vehicle_id: int | None = None,
    customer_id: int | None = None,
) -> Event:
    """Add one line to the log. Call it inside the transaction of the change that it tells of."""
    return Event.objects.create(
        actor_id=actor.id,
        actor=actor.name,
        verb=verb,
        subject_type=subject._meta.model_name or "",
        subject_id=subject.pk,
        subject=str(subject)[:300],
        vehicle_id=vehicle_id,
        customer_id=customer_id,
        before={key: plain(value) for key, value in (before or {}).items()},
        after={key: plain(value) for key, value in (after or {}).items()},
        why=why,
    )


def differing(record: models.Model, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Return those of `changes` whose value is not the one that `record` holds."""
    return {name: value for name, value in changes.items() if getattr(record, name) != value}


@transaction.atomic
def change_record(
    *,
    record: Record,
    changes: Mapping[str, Any],
    version: int,
    actor: Actor,
    verb: str,
    why: str = "",
    vehicle_id: int | None = None,
    customer_id: int | None = None,
    quiet: frozenset[str] = frozenset(),
) -> Record:
    """Write `changes` to a record that carries a `version`, if it still stands at `version`.

    Fields named in `quiet` are written and not logged (search text and the like). Nothing is
    written or logged where nothing differs. Raises `Clash` where somebody was faster.
    """
    model = type(record)
    manager = model._default_manager
    current = manager.get(pk=record.pk)
    if current.version != version:  # type: ignore[attr-defined]
        raise Clash(current)
    real = differing(current, changes)
    if not real:
        return current
    told = {name: value for name, value in real.items() if name not in quiet}
    before = {name: getattr(current, name) for name in told}
    rows = manager.filter(pk=record.pk, version=version).update(**real, version=version + 1)
    if rows != 1:
        # Somebody else's UPDATE came between our look and ours (possible on PostgreSQL only).
        raise Clash(manager.get(pk=record.pk))
    fresh = manager.get(pk=record.pk)
    if told:
        record_event(
            actor=actor,
            verb=verb,
            subject=fresh,
            before=before,
            after=told,
            why=why,
            vehicle_id=vehicle_id,
            customer_id=customer_id,
        )
    return fresh
