"""What a new revision would bring: tried in a transaction that is taken back."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from installs.models import Reverification
from shop.desk.forms.revision import RevisionForm
from shop.desk.once import only_once
from shop.desk.saving import take_collision
from shop.people.models import Ownership
from vehicles.models import ModelRange, Vehicle

from .common import named, telling_raised, told

NAMED = 30


@dataclass(frozen=True)
class Concerned:
    """One vehicle that goes by the document, its owner, and what it would be asked to prove."""

    vehicle: Vehicle
    owner: str
    asked: str = ""


@dataclass(frozen=True)
class Look:
    """Whom a revision concerns: how many, the first of them by name, and what it would raise."""

    count: int
    named: tuple[Concerned, ...]
    raised: tuple[Concerned, ...]

    @property
    def more(self) -> int:
        """How many are not named."""
        return self.count - len(self.named)


def goes_by(owner: ModelRange | Vehicle, *, own: str) -> list[int]:
    """Return the ids of the vehicles that go by the document of `owner`.

    `own` names the relation by which a vehicle has a document of its own; those do not go by
    that of their range.
    """
    if isinstance(owner, Vehicle):
        return [owner.pk]
    with_own = {f"{own}__is_current": True}
    rows = Vehicle.objects.filter(model_range=owner).exclude(**with_own)
    return list(rows.values_list("pk", flat=True))


def look(ids: list[int], act: Callable[[], object]) -> Look:
    """Run `act`, see which of these vehicles it asks to be proven, and take everything back.

    Raises whatever `act` raises.
    """
    owners = {
        row.vehicle_id: str(row.customer)
        for row in Ownership.objects.current().filter(vehicle__in=ids).select_related("customer")
    }
    before = _asked(ids)
    with transaction.atomic():
        act()
        after = _asked(ids)
        transaction.set_rollback(True)
    raised = [pk for pk in after if after[pk] != before.get(pk)]
    vehicles = Vehicle.objects.in_bulk({*ids[:NAMED], *raised[:NAMED]})
    return Look(
        count=len(ids),
        named=tuple(Concerned(vehicles[pk], owners.get(pk, "")) for pk in ids[:NAMED]),
        raised=tuple(
            Concerned(vehicles[pk], owners.get(pk, ""), after[pk]) for pk in raised[:NAMED]
        ),
    )


def _asked(ids: list[int]) -> dict[int, str]:
    rows = Reverification.objects.open().filter(vehicle__in=ids)
    return {row.vehicle_id: told(row) for row in rows}


def looked_or_saved(
    request: HttpRequest,
    form: RevisionForm,
    *,
    ids: list[int],
    revise: Callable[[], Any],
    done: Callable[[Any], str],
) -> tuple[HttpResponse | None, Look | None]:
    """Show what the revision would bring; write it where just that was shown before.

    `revise` writes the revision, `done` tells of it and returns where to go. Returns the answer
    once it is written, or what to show above the form.
    """
    if request.method != "POST" or not form.is_valid() or form.overtaken():
        return None, None
    try:
        if form.was_looked_at and "save" in request.POST:
            return HttpResponseRedirect(
                only_once(request, lambda: _write(request, ids, revise, done))
            ), None
        shown = look(ids, revise)
    except ValidationError as error:
        form.take_faults(error)
        return None, None
    except IntegrityError as error:
        take_collision(form, error)
        return None, None
    form.note_look()
    return None, shown


def _write(
    request: HttpRequest, ids: list[int], revise: Callable[[], Any], done: Callable[[Any], str]
) -> str:
    with telling_raised(request, ids):
        return done(revise())


def about(
    shown: Look | None, current: Any | None, owner: ModelRange | Vehicle, revisions: Any
) -> dict[str, Any]:
    """Return what every page of a revision says: what is in force, and what comes next."""
    own = revisions.objects.filter(**named(owner)).first()
    return {
        "look": shown,
        "wide": True,
        "current": current,
        "inherited": current is not None and current != own,
        "next": own.number + 1 if own else 1,
    }
