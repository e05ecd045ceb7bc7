"""The nightly safety net: judge every vehicle anew and bring all due items in line."""

from datetime import date, datetime

from django.db import transaction

from installs.models import Reverification
from installs.services.proof import rejudge
from shop.reminders.models import Heartbeat
from vehicles.models import Vehicle
from vehicles.records import PULLPIN

from .planning import CHUNK, chunks, refresh_all


def run_nightly(*, now: datetime, today: date) -> int:
    """Find what no service told us of; returns how many re-verifications were newly raised.

    Each chunk of vehicles is a transaction of its own, so the desk is never kept waiting long.
    """
    raised = 0
    ids = list(Vehicle.objects.towed().order_by("pk").values_list("pk", flat=True))
    for part in chunks(ids, CHUNK):
        with transaction.atomic():
            raised += rejudge(
                vehicle_ids=part,
                cause=Reverification.Cause.NIGHTLY,
                today=today,
                actor=PULLPIN,
            )
    refresh_all(today=today)
    Heartbeat.objects.update_or_create(
        name="nightly",
        defaults={"at": now, "said": f"{len(ids)} vehicles judged, {raised} to be proven again"},
    )
    return raised
