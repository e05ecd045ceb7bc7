"""Looks at fitted parts, with their outcome."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from installs.models import Check, Fitting, Inspection
from vehicles.models import Vehicle
from vehicles.records import Actor, record_event


@transaction.atomic
def record_inspection(
    *,
    vehicle: Vehicle,
    check: Check,
    done_on: date,
    result: str,
    actor: Actor,
    fitting: Fitting | None = None,
    values: Mapping[str, Any] | None = None,
    elsewhere: bool = False,
    by: str = "",
    note: str = "",
    why: str = "",
) -> Inspection:
    """Record a look at a part; see `Inspection.GOOD` and `BAD` for what its outcome does."""
    look = Inspection(
        vehicle=vehicle,
        fitting=fitting,
        component=fitting.component if fitting else None,
        check_done=check,
        done_on=done_on,
        result=result,
        values=dict(values or {}),
        by=by or actor.name,
        elsewhere=elsewhere,
        note=note,
    )
    look.full_clean()
    look.save(force_insert=True)
    record_event(
        actor=actor,
        verb="inspected",
        subject=look,
        after={"result": result, "done_on": done_on, "values": look.values},
        why=why or note,
        vehicle_id=vehicle.pk,
    )
    return look
