"""The look just before sending, the desk's actions, and what can be explained."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from shop.outbox.models import OutgoingMail
from shop.people.models import Ownership
from shop.reminders import reads
from shop.reminders.models import DueItem, Reminder
from shop.reminders.services import (
    cancel_booking,
    deliver_round,
    mark_booked,
    opt_out,
    run_tick,
    snooze,
)
from tests.factories.installs import InspectionFactory
from tests.factories.people import EmailFactory, UserFactory
from tests.factories.reminders import Case, RuleFactory, a_case
from vehicles.models import Event
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
DESK = Actor("Desk")
DAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 17, tzinfo=UTC)  # 10:00 in Denver


@pytest.fixture(autouse=True)
def box(settings, tmp_path):
    settings.PULLPIN_MAIL, settings.PULLPIN_MAILBOX = "maildir", tmp_path / "mailbox"
    return tmp_path / "mailbox" / "new"


@pytest.fixture
def case() -> Case:
    """A customer with two things due, told in one digest that waits in the outbox."""
    RuleFactory(name="Battery", what="Load test of the battery")
    RuleFactory(name="Cable", what="Look at the cable")
    case = a_case()
    case.refresh(DAY)
    run_tick(now=NOW, today=DAY)
    return case


def items() -> list[DueItem]:
    return list(DueItem.objects.filter(closed_on=None).order_by("rule__name"))


def mail() -> OutgoingMail:
    return OutgoingMail.objects.get()


def test_what_is_still_true_goes_out(case, box):
    assert deliver_round(now=NOW).sent == 1
    assert len(list(box.iterdir())) == 1


def test_what_fell_away_is_left_out_and_the_rest_goes(case, box):
    _, cable = items()
    mark_booked(item=cable, on=date(2026, 5, 12), today=DAY, actor=DESK)
    message_id = mail().message_id
    deliver_round(now=NOW)
    assert mail().state == "sent"
    assert "Load test of the battery" in mail().text
    assert "Look at the cable" not in mail().text + mail().html
    assert mail().message_id == message_id
    assert Reminder.objects.get(item=cable).mail is None
    told = reads.explain_item(cable)
    assert any("left out" in sentence for sentence in told)
    cable.refresh_from_db()
    assert "Booked for 12 May 2026." in reads.explain_item(cable)


def test_nothing_goes_where_nothing_is_left(case, box):
    for item in items():
        mark_booked(item=item, on=date(2026, 5, 12), today=DAY, actor=DESK)
    assert deliver_round(now=NOW).withheld == 1
    assert mail().withheld_why == "Not sent: booked for 12 May 2026."
    assert not box.exists() or not list(box.iterdir())


def withheld(case: Case) -> str:
    report = deliver_round(now=NOW)
    assert (report.sent, report.withheld) == (0, 1)
    return mail().withheld_why


def test_withheld_when_done_meanwhile(case):
    InspectionFactory(fitting=case.fitting, done_on=DAY)
    case.refresh(DAY)
    assert withheld(case) == "Not sent: done on 2 March 2026."


def test_withheld_when_sold_meanwhile(case):
    Ownership.objects.update(until=DAY)
    assert withheld(case) == "Not sent: the vehicle changed hands."


def test_withheld_when_put_off_meanwhile(case):
    for item in items():
        snooze(item=item, until=date(2026, 4, 1), today=DAY, actor=DESK)
    assert withheld(case) == "Not sent: put off until 1 April 2026."


def test_withheld_when_opted_out_meanwhile(case):
    opt_out(customer=case.customer, category="service", how="by phone", today=DAY)
    assert withheld(case).startswith("Not sent. No mail: service reminders declined on")


def test_withheld_when_the_date_moved_out(case):
    case.fitting.since = date(2025, 12, 1)
    case.fitting.save()
    case.refresh(DAY)
    assert withheld(case) == "Not sent: not due before 1 December 2026."


def test_an_address_struck_meanwhile_is_not_written_to_and_the_new_one_is(case):
    case.customer.emails.all().delete()
    EmailFactory(customer=case.customer, address="new@mail.example")
    assert "no longer on file" in withheld(case)
    tomorrow = NOW + timedelta(days=1)
    run_tick(now=tomorrow, today=DAY + timedelta(days=1))
    deliver_round(now=tomorrow)
    assert OutgoingMail.objects.get(state="sent").to_address == "new@mail.example"


def test_a_mail_held_up_until_the_evening_waits_for_the_morning(case):
    report = deliver_round(now=datetime(2026, 3, 3, 4, tzinfo=UTC))  # 21:00 in Denver
    assert (report.sent, report.later) == (0, 1)
    assert mail().not_before == datetime(2026, 3, 3, 15, tzinfo=UTC)


def test_put_off_moves_the_contact_and_not_the_due_date(case):
    item = items()[0]
    due = item.due_on
    late = due + timedelta(days=20)
    fresh = snooze(item=item, until=late, today=DAY, actor=DESK, why="in Florida")
    assert (fresh.due_on, fresh.contact_on) == (due, max(late, DAY + timedelta(days=21)))
    assert item in reads.overdue_by_risk(UserFactory(), due + timedelta(days=1))
    case.refresh(DAY)
    item.refresh_from_db()
    assert item.snoozed_until == late
    event = Event.objects.get(verb="put off")
    assert (event.why, event.after) == ("in Florida", {"snoozed_until": late.isoformat()})
    with pytest.raises(ValidationError, match="not in the future"):
        snooze(item=item, until=DAY, today=DAY, actor=DESK)


def test_a_booking_can_be_cancelled(case):
    item = items()[0]
    booked = mark_booked(item=item, on=date(2026, 5, 12), today=DAY, actor=DESK)
    assert (booked.state, booked.contact_on) == ("booked", date(2026, 5, 13))
    fresh = cancel_booking(item=booked, today=DAY, actor=DESK)
    assert (fresh.state, fresh.contact_on) == ("open", DAY + timedelta(days=21))
    with pytest.raises(ValidationError, match="past"):
        mark_booked(item=item, on=DAY - timedelta(days=1), today=DAY, actor=DESK)


@pytest.mark.parametrize("day", [DAY + timedelta(days=401), date(9999, 12, 31)])
def test_a_wrong_year_silences_nothing(case, day):
    item = items()[0]
    with pytest.raises(ValidationError, match=r"too far ahead\. Give a day up to 6 April 2027"):
        mark_booked(item=item, on=day, today=DAY, actor=DESK)
    with pytest.raises(ValidationError, match="too far ahead"):
        snooze(item=item, until=day, today=DAY, actor=DESK)
    assert items()[0].contact_on == item.contact_on


def test_each_message_and_each_silence_is_explained(case, django_assert_num_queries):
    deliver_round(now=NOW)
    with django_assert_num_queries(2):
        told = [reads.explain_item(item) for item in reads.items_of_customer(case.customer.pk)]
    assert told[0] == [
        "Due on 1 March 2026: 12 months after it was first fitted on 1 March 2025.",
        "Mail 1, written on 2 March 2026: sent to wren@mail.example on 2 March 2026 at 10:00.",
        "Next mail on 23 March 2026.",
    ]


def test_a_waiting_and_a_failed_mail_are_explained(case):
    item = items()[0]
    assert "waits to be sent, not before 2 March 2026 at 10:00" in reads.explain_item(item)[1]
    OutgoingMail.objects.update(state="failed", last_error="550 no such user")
    assert reads.explain_item(items()[0])[1].endswith("failed. 550 no such user")


def test_lists_for_the_desk():
    RuleFactory(name="Low", risk=1)
    RuleFactory(name="High", risk=3)
    case = a_case(email=None)
    case.refresh(DAY)
    user = UserFactory()
    assert [i.rule.name for i in reads.overdue_by_risk(user, DAY)] == ["High", "Low"]
    assert [i.silence for i in reads.silences(user)] == ["No mail: no e-mail address on file."] * 2
    assert list(reads.coming_up(user, date(2026, 2, 1), date(2026, 3, 1))) == list(
        DueItem.objects.order_by("-risk")
    )
    assert not reads.overdue_by_risk(UserFactory(role=""), DAY).exists()
    run_tick(now=NOW, today=DAY)
    assert set(reads.heartbeats()) == {"due_tick"}
