"""A second change to a vehicle that waits for its proof is told to its owner as well."""

from datetime import UTC, date, datetime, timedelta

import pytest

from installs.models import Reverification
from installs.services import parts
from shop import changes
from shop.outbox.models import OutgoingMail
from shop.people import services as people
from shop.people.services import Reach
from shop.reminders.models import DueItem
from shop.reminders.services import deliver_round, run_tick
from tests.factories.proving import BY, FEED_MAP, MARA, TODAY, fit, own, procedure, prove
from tests.factories.reminders import ReverifyRuleFactory
from vehicles import services as vehicles
from vehicles.models import ModelRange

pytestmark = pytest.mark.django_db
FIRST, SECOND = TODAY + timedelta(days=1), TODAY + timedelta(days=3)


@pytest.fixture(autouse=True)
def box(settings, tmp_path):
    settings.PULLPIN_MAIL, settings.PULLPIN_MAILBOX = "maildir", tmp_path / "mailbox"


@pytest.fixture
def crestline() -> ModelRange:
    """A range with a proven vehicle in it, whose owner has an address."""
    ReverifyRuleFactory()
    found = vehicles.add_model_range(
        actor=MARA, make="Alder", model="Crestline", year_from=2010, year_to=2014
    )
    changes.revise_feed_map(content=FEED_MAP, model_range=found, **BY)
    changes.revise_procedure(content=procedure("F08"), model_range=found, **BY)
    reach = Reach(emails=["i@okafor.example"])
    owner = people.add_customer(actor=MARA, reach=reach, name="Ines")
    kind = parts.add_kind(
        actor=MARA,
        slug="transmitter",
        name="Transmitter",
        ports=[{"name": "supply", "demand": {"drive": "any", "tow": "on"}, "peak_a": 1}],
    )
    prove(fit(kind, own(owner)))
    assert not DueItem.objects.open().exists()
    return found


def revise(found: ModelRange, *pulled: str, on: date) -> None:
    changes.revise_procedure(content=procedure(*pulled), model_range=found, today=on, actor=MARA)


def at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 18, tzinfo=UTC)  # 11:00 in Denver


def tick(day: date) -> int:
    return run_tick(now=at(day), today=day).said


def texts() -> list[str]:
    return list(
        OutgoingMail.objects.filter(state="sent").order_by("pk").values_list("text", flat=1)
    )


def test_a_second_difference_is_told_in_the_next_digest(crestline):
    revise(crestline, "F08", "F21", on=FIRST)
    assert tick(FIRST) == 1
    assert deliver_round(now=at(FIRST)).sent == 1
    old = DueItem.objects.open().get()
    revise(crestline, "F08", "F21", "F12", on=SECOND)
    old.refresh_from_db()
    assert (old.state, old.contact_on) == ("withdrawn", None)
    new = DueItem.objects.open().get()
    assert new.anchor_key == f"reverify:{Reverification.objects.open().get().pk}"
    assert new.contact_on == SECOND
    assert (tick(SECOND), tick(SECOND)) == (1, 0)
    assert deliver_round(now=at(SECOND)).sent == 1
    first, second = texts()
    assert "F21" in first
    assert "F12" not in first
    assert "F21" in second
    assert "F12" in second


def test_a_mail_that_waits_is_withheld_and_the_next_one_tells_all(crestline):
    revise(crestline, "F08", "F21", on=FIRST)
    tick(FIRST)
    revise(crestline, "F08", "F21", "F12", on=FIRST)
    assert tick(FIRST) == 0
    assert deliver_round(now=at(FIRST)).withheld == 1
    assert OutgoingMail.objects.get().withheld_why == "Not sent: no longer due."
    morning = FIRST + timedelta(days=1)
    assert tick(morning) == 1
    deliver_round(now=at(morning))
    (text,) = texts()
    assert "F21" in text
    assert "F12" in text


def test_less_to_tell_is_no_second_message_and_a_mail_that_waits_says_what_is_left(crestline):
    revise(crestline, "F08", "F21", "F12", on=FIRST)
    tick(FIRST)
    item = DueItem.objects.open().get()
    revise(crestline, "F08", "F21", on=FIRST)
    assert deliver_round(now=at(FIRST)).sent == 1
    (text,) = texts()
    assert "F21" in text
    assert "F12" not in text
    assert DueItem.objects.open().get() == item
    assert tick(FIRST + timedelta(days=1)) == 0


def test_all_put_back_withholds_what_waits(crestline):
    revise(crestline, "F08", "F21", on=FIRST)
    tick(FIRST)
    revise(crestline, "F08", on=FIRST)
    assert deliver_round(now=at(FIRST)).withheld == 1
    assert not DueItem.objects.open().exists()
