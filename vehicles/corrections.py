"""What a reading counts as: corrected after a slip of the pen, carried on past a new instrument."""

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import DecimalField, F, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from .models import Reading, ReadingCorrection
from .records import Actor, record_event

Sort = ReadingCorrection.Sort


def with_added(readings: Any) -> Any:
    """Annotate a queryset of readings with what corrections add to them, in their unit.

    `put_right` is a reading's own, `carried` that of new instruments, `added` their sum.

    A slip of the pen is put right for the one reading; a new instrument's offset counts from its
    reading on, so that the distance goes on growing.
    """
    earlier = Q(reading__on__lt=OuterRef("on")) | Q(
        reading__on=OuterRef("on"), reading__pk__lte=OuterRef("pk")
    )
    carried = ReadingCorrection.objects.filter(
        earlier,
        sort=Sort.REPLACED,
        reading__vehicle=OuterRef("vehicle"),
        reading__what=OuterRef("what"),
    )
    own = ReadingCorrection.objects.filter(sort=Sort.MISREAD, reading=OuterRef("pk"))
    return readings.annotate(
        put_right=_summed(own, "reading"), carried=_summed(carried, "reading__vehicle")
    ).annotate(added=F("put_right") + F("carried"))


def _summed(corrections: Any, by: str) -> Any:
    rows = corrections.order_by().values(by).annotate(total=Sum("offset")).values("total")
    nothing = Value(Decimal(0), output_field=DecimalField())
    return Coalesce(Subquery(rows, output_field=DecimalField()), nothing)


def counts_as(reading: Reading) -> Decimal:
    """Return what one reading counts as."""
    row = with_added(Reading.objects.filter(pk=reading.pk)).get()
    return Decimal(row.value + row.added)


@transaction.atomic
def correct_reading(
    *, reading: Reading, sort: str, total: Decimal, typed: str, why: str, actor: Actor
) -> ReadingCorrection:
    """Say that a reading stands for `total`, in the reading's unit; what was read stays.

    Raises ValidationError where nothing differs or no reason is given.
    """
    if not why.strip():
        raise ValidationError({"why": "Say why: when it was replaced, or what was misread."})
    before = counts_as(reading)
    if total == before:
        raise ValidationError({"total": "That is what it counts as already."})
    correction = ReadingCorrection.objects.create(
        reading=reading,
        sort=Sort(sort),
        offset=total - before,
        typed=typed,
        why=why.strip(),
        by=actor.name,
    )
    record_event(
        actor=actor,
        verb="corrected reading",
        subject=reading,
        before={"counts as": before},
        after={"counts as": total, "typed": typed},
        why=why,
        vehicle_id=reading.vehicle_id,
    )
    return correction
