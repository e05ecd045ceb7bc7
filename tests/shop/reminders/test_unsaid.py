"""A mail that never went counts as nothing said: its items come up again."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import pytest

from shop.outbox.models import OutgoingMail
from shop.outbox.services import deliver_waiting, retry_mail
from shop.outbox.transport import RefusedError
from shop.people.models import Ownership
from shop.reminders import reads
from shop.reminders.models import DueItem, Reminder
from shop.reminders.services import cancel_booking, deliver_round, mark_booked, run_tick
from shop.reminders.services.sending import recheck
from shop.reminders.services.unsaid import take_back, take_back_mail
from tests.factories.people import EmailFactory, OwnershipFactory
from tests.factories.reminders import Case, RuleFactory, a_case
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
DESK = Actor("Desk")
DAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 17, tzinfo=UTC)  # 10:00 in Denver


@pytest.fixture(autouse=True)
def box(settings, tmp_path):
    settings.PULLPIN_MAIL, settings.PULLPIN_MAILBOX = "maildir", tmp_path / "mailbox"


class Refusing:
    """A mail server that will take nothing, the recipient's address or the message."""

    def __init__(self, *, dead: bool) -> None:
        self.dead = dead

    def __enter__(self) -> "Refusing":
        return self

    def __exit__(self, *_: object) -> None: ...

    def send(self, message: object, *, sender: str, to: str) -> None:
        raise RefusedError("550 no", address_is_dead=self.dead)


def told(on: date = DAY, **rule: object) -> Case:
    """A customer whose item was written of on `on`, in a mail that waits."""
    RuleFactory(name="Battery", **rule)
    case = a_case()
    case.refresh(on)
    tick(on)
    assert case.item.mails_sent == 1
    return case


def at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 17, tzinfo=UTC)


def tick(day: date) -> int:
    return run_tick(now=at(day), today=day).said


def states() -> Sequence[str]:
    return list(OutgoingMail.objects.order_by("pk").values_list("state", flat=True))


def test_after_a_server_that_was_down_for_days_the_only_mail_of_a_rule_is_written_anew():
    case = told(mails_max=1)
    assert case.item.silence == "Said once by mail; the desk phones now."
    back = DAY + timedelta(days=9)
    assert deliver_round(now=at(back)).withheld == 1
    item = case.item
    assert (item.mails_sent, item.contact_on, item.silence) == (0, back, "")
    assert tick(back) == 1
    assert deliver_round(now=at(back)).sent == 1
    assert states() == ["withheld", "sent"]
    sentences = reads.explain_item(reads.items_of_customer(case.customer.pk).get())
    assert "too late to be of use" in sentences[1]
    assert sentences[2].startswith("Mail 1, written on 11 March 2026: sent to ")
    assert sentences[3] == "Said once by mail; the desk phones now."


def test_the_second_turn_that_never_went_is_counted_from_the_first_that_did():
    case = told()
    deliver_round(now=NOW)
    second = DAY + timedelta(days=21)
    tick(second)
    late = second + timedelta(days=8)
    deliver_round(now=at(late))
    assert (case.item.mails_sent, case.item.contact_on) == (1, late)
    assert case.item.reminders.counted().get().on == DAY


def test_a_turn_that_was_written_behind_a_lost_one_moves_up():
    """A rule that repeats every day, while the server is down for five days."""
    case = told(repeat_days=1)
    days = [DAY + timedelta(days=n) for n in range(1, 6)]
    assert [tick(day) for day in days] == [1, 1, 1, 0, 0]
    report = deliver_round(now=at(days[4]) + timedelta(minutes=1))
    assert (report.withheld, report.sent) == (1, 3)
    nths = case.item.reminders.counted().order_by("on").values_list("nth", flat=True)
    assert (case.item.mails_sent, list(nths)) == (3, [1, 2, 3])
    assert tick(days[4]) == 1


def test_booked_withheld_and_unbooked_comes_up_again():
    case = told(mails_max=1)
    mark_booked(item=case.item, on=DAY + timedelta(days=9), today=DAY, actor=DESK)
    assert deliver_round(now=NOW).withheld == 1
    item = case.item
    assert (item.state, item.mails_sent) == ("booked", 0)
    assert item.contact_on == DAY + timedelta(days=10)
    assert item.silence == "Booked for 11 March 2026."
    tomorrow = DAY + timedelta(days=1)
    assert tick(tomorrow) == 0
    cancel_booking(item=item, today=tomorrow, actor=DESK)
    assert tick(tomorrow) == 1


def test_unbooked_on_the_very_day_it_comes_with_the_mail_of_tomorrow():
    case = told(mails_max=1)
    mark_booked(item=case.item, on=DAY + timedelta(days=9), today=DAY, actor=DESK)
    deliver_round(now=NOW)
    cancel_booking(item=case.item, today=DAY, actor=DESK)
    assert tick(DAY) == 0
    assert tick(DAY + timedelta(days=1)) == 1


def test_what_a_mail_left_out_was_not_said_either():
    case = told(mails_max=1)
    Reminder.objects.all().delete()
    OutgoingMail.objects.all().delete()
    RuleFactory(name="Cable", mails_max=1)
    DueItem.objects.update(mails_sent=0, contact_on=DAY)
    case.refresh(DAY)
    tick(DAY)
    battery = DueItem.objects.get(rule__name="Battery")
    mark_booked(item=battery, on=DAY + timedelta(days=9), today=DAY, actor=DESK)
    assert deliver_round(now=NOW).sent == 1
    cancel_booking(item=battery, today=DAY + timedelta(days=1), actor=DESK)
    assert tick(DAY + timedelta(days=1)) == 1
    assert DueItem.objects.get(rule__name="Cable").mails_sent == 1


@pytest.mark.parametrize(
    ("dead", "said", "why"),
    [
        (False, 1, "Said once by mail; the desk phones now."),
        (True, 0, "No mail: wren@mail.example has not worked since 2 March 2026."),
    ],
)
def test_refused_for_good_it_is_tried_again_or_the_desk_learns_to_phone(dead, said, why):
    case = told(mails_max=1)
    refuse(dead=dead)
    assert (states(), case.item.mails_sent) == (["failed"], 0)
    assert tick(DAY) == 0
    assert tick(DAY + timedelta(days=1)) == said
    assert case.item.silence == why


def refuse(*, dead: bool) -> None:
    deliver_waiting(now=NOW, recheck=recheck, unsent=take_back_mail, transport=Refusing(dead=dead))


def test_a_failed_mail_that_is_sent_again_by_hand_does_not_tell_it_twice():
    told()
    refuse(dead=False)
    tomorrow = DAY + timedelta(days=1)
    tick(tomorrow)
    retry_mail(mail=OutgoingMail.objects.get(state="failed"), now=NOW, actor=DESK)
    report = deliver_round(now=at(tomorrow))
    assert (report.sent, report.withheld) == (1, 1)
    withheld = OutgoingMail.objects.get(state="withheld")
    assert withheld.withheld_why.endswith("comes up again in a newer message.")


def test_a_mail_in_doubt_counts_as_said():
    case = told()
    OutgoingMail.objects.update(state="claimed", claimed_at=NOW, crashes=1)
    assert deliver_round(now=NOW + timedelta(hours=1)).unsure == 1
    assert case.item.mails_sent == 1


def test_what_an_earlier_owner_was_never_told_takes_nothing_from_the_new_one():
    case = told(mails_max=1)
    Ownership.objects.update(until=DAY)
    new = EmailFactory(address="new@mail.example").customer
    OwnershipFactory(customer=new, vehicle=case.vehicle, since=DAY)
    case.refresh(DAY)
    assert case.item.mails_before == 1
    assert deliver_round(now=NOW).withheld == 1
    assert (case.item.mails_sent, case.item.mails_before) == (0, 0)
    assert tick(DAY) == 1
    assert OutgoingMail.objects.get(state="queued").customer == new


def test_taken_back_twice_is_as_once():
    case = told()
    entries = [case.item.reminders.get().pk]
    for _ in range(2):
        take_back(entries=entries, today=DAY)
    assert (case.item.mails_sent, case.item.contact_on) == (0, DAY)
