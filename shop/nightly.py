"""The nightly judgement: every towed vehicle once more, to find what no service was told about."""

import logging
from collections.abc import Iterator
from datetime import date

from installs.models import Reverification
from shop.changes import settle
from vehicles.models import Vehicle
from vehicles.records import PULLPIN

# Small enough that nobody at the counter waits for the one write lock of SQLite.
AT_ONCE = 100
log = logging.getLogger(__name__)


def rejudge_everything(*, today: date) -> int:
    """Judge all towed vehicles anew, some at a time; return how many were judged.

    Each batch is a transaction of its own: one that fails is logged and the next one goes on.
    """
    judged = 0
    for ids in _batches():
        try:
            settle(vehicle_ids=ids, cause=Reverification.Cause.NIGHTLY, today=today, actor=PULLPIN)
        except Exception:
            log.exception("The vehicles %d to %d could not be judged.", ids[0], ids[-1])
        else:
            judged += len(ids)
    return judged


def _batches() -> Iterator[list[int]]:
    last = 0
    while ids := list(
        Vehicle.objects.towed()
        .filter(pk__gt=last)
        .order_by("pk")
        .values_list("pk", flat=True)[:AT_ONCE]
    ):
        yield ids
        last = ids[-1]
