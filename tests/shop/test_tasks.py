"""The tasks are doors to the services, and the night finds what nobody told of."""

from datetime import UTC, date, datetime

import pytest
import time_machine

from installs.models import Reverification, Standing
from shop import tasks
from shop.outbox.models import OutgoingMail
from shop.reminders.models import Heartbeat
from shop.reminders.services import run_nightly
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory, a_case

pytestmark = pytest.mark.django_db


def test_due_items_become_mails_and_mails_go_out(settings, tmp_path):
    settings.PULLPIN_MAIL, settings.PULLPIN_MAILBOX = "maildir", tmp_path / "mailbox"
    RuleFactory()
    a_case().refresh(date(2026, 3, 2))
    with time_machine.travel(datetime(2026, 3, 2, 17, tzinfo=UTC)):
        tasks.due_tick()
        tasks.deliver_waiting()
    assert OutgoingMail.objects.get().state == "sent"
    told = dict(Heartbeat.objects.values_list("name", "said"))
    assert told["due_tick"].startswith("1 due, 1 of them said in 1 digests")
    assert told["deliver"].startswith("1 sent")


def test_the_night_judges_every_vehicle_and_plans_what_nobody_told_of():
    ReverifyRuleFactory()
    RuleFactory()
    case = a_case()
    raised = run_nightly(now=datetime(2025, 6, 1, 9, tzinfo=UTC), today=date(2025, 6, 1))
    assert raised == 1
    assert Reverification.objects.get().vehicle == case.vehicle
    assert Standing.objects.get().vehicle == case.vehicle
    keys = case.vehicle.due_items.values_list("anchor_key", flat=True)
    assert {key.partition(":")[0] for key in keys} == {"fitted", "reverify"}
    assert "1 to be proven again" in Heartbeat.objects.get(name="nightly").said


def test_the_night_may_be_repeated():
    RuleFactory()
    a_case()
    for _ in range(2):
        with time_machine.travel(datetime(2025, 6, 1, 9, tzinfo=UTC)):
            tasks.rejudge_nightly()
    assert Heartbeat.objects.get().said == "1 vehicles judged, 0 to be proven again"
