"""The tick: one digest per customer, day and category; nothing twice; silences say why."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.clock import shop_date
from shop.outbox.models import OutgoingMail
from shop.people.models import Ownership
from shop.reminders.models import DueItem, Heartbeat, Reminder
from shop.reminders.services import mark_booked, run_tick
from shop.reminders.services.digest import write_digest
from tests.factories.installs import FittingFactory, ReverificationFactory
from tests.factories.people import EmailFactory, OwnershipFactory
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory, a_case
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
DENVER = ZoneInfo("America/Denver")
DESK = Actor("Desk")
DAY = date(2026, 3, 2)


def tick(day: date = DAY, hour: int = 10, **given):
    now = datetime(day.year, day.month, day.day, hour, tzinfo=DENVER).astimezone(UTC)
    return run_tick(now=now, today=day, **given)


def test_a_second_run_on_the_same_day_finds_nothing_new():
    RuleFactory()
    case = a_case()
    case.refresh(DAY)
    report = tick()
    assert (report.due, report.said, report.digests) == (1, 1, 1)
    assert tick().due == 0
    mail = OutgoingMail.objects.get()
    assert mail.key == f"digest:{case.customer.pk}:2026-03-02:service"
    assert (mail.to_address, mail.to_name) == ("wren@mail.example", case.customer.name)
    assert list(Reminder.objects.values_list("nth", "on", "mail")) == [(1, DAY, mail.pk)]
    assert case.item.contact_on == DAY + timedelta(days=21)


def test_only_so_many_mails_then_the_desk():
    RuleFactory(mails_max=3)
    case = a_case()
    case.refresh(DAY)
    day = DAY
    for _ in range(100):
        tick(day)
        day += timedelta(days=1)
    assert [r.on for r in Reminder.objects.order_by("nth")] == [
        DAY,
        DAY + timedelta(days=21),
        DAY + timedelta(days=42),
    ]
    assert (case.item.contact_on, case.item.silence) == (
        None,
        "Said 3 times by mail; the desk phones now.",
    )
    case.refresh(day)
    assert (case.item.contact_on, case.item.mails_sent) == (None, 3)


def test_one_digest_for_all_that_is_due_and_safety_apart():
    RuleFactory(what="Load test of the battery")
    RuleFactory(what="Look at the cable")
    ReverifyRuleFactory(what="Prove the braking")
    case = a_case()
    ReverificationFactory(vehicle=case.vehicle)
    case.refresh(DAY)
    report = tick()
    assert (report.said, report.digests) == (3, 2)
    service = OutgoingMail.objects.get(category="service")
    safety = OutgoingMail.objects.get(category="safety")
    assert "Load test of the battery" in service.text
    assert "Look at the cable" in service.text
    assert "Prove the braking" not in service.text + service.html
    assert "F12 is now pulled" in safety.text
    assert "F12 is now pulled" in safety.html
    assert "Load test" not in safety.text


def test_something_raised_later_on_the_day_waits_for_tomorrow():
    RuleFactory()
    case = a_case()
    case.refresh(DAY)
    tick()
    other = FittingFactory(vehicle=case.vehicle)
    case.refresh(DAY)
    report = tick(hour=15)
    assert (report.said, report.postponed) == (0, 1)
    late = DueItem.objects.get(fitting=other)
    assert late.contact_on == DAY + timedelta(days=1)
    assert "tomorrow" in late.silence
    assert tick(DAY + timedelta(days=1)).said == 1


@pytest.mark.parametrize("moment", ["2026-06-11T00:30", "2026-06-11T06:30"])
def test_today_is_the_shops_not_that_of_utc(moment, settings):
    settings.SHOP_TIME_ZONE = "America/Los_Angeles"
    now = datetime.fromisoformat(moment).replace(tzinfo=UTC)
    assert shop_date(now) == date(2026, 6, 10)
    RuleFactory(lead_days=0)
    due_tomorrow = a_case()
    due_tomorrow.fitting.since = date(2025, 6, 11)
    due_tomorrow.fitting.save()
    due_tomorrow.refresh(date(2026, 6, 10))
    assert run_tick(now=now, today=shop_date(now)).due == 0


@pytest.mark.parametrize(
    ("day", "hour", "opens"),
    [
        # New York: 8 March and 1 November 2026 are the days on which clocks change; eight in the
        # morning is 13:00 UTC in winter time and 12:00 UTC in summer time.
        (date(2026, 3, 7), 1, "2026-03-07T13:00"),
        (date(2026, 3, 8), 1, "2026-03-08T12:00"),
        (date(2026, 11, 1), 0, "2026-11-01T13:00"),
        (date(2026, 3, 2), 21, "2026-03-03T13:00"),
        (date(2026, 3, 2), 10, "2026-03-02T15:00"),
    ],
)
def test_quiet_hours_are_those_of_the_recipient(day, hour, opens, settings):
    settings.SHOP_TIME_ZONE = "America/New_York"
    RuleFactory()
    a_case(time_zone="America/New_York").refresh(day)
    now = datetime(day.year, day.month, day.day, hour, tzinfo=ZoneInfo("America/New_York"))
    run_tick(now=now.astimezone(UTC), today=day)
    expected = datetime.fromisoformat(opens).replace(tzinfo=UTC)
    assert OutgoingMail.objects.get().not_before == expected


def test_on_each_clock_change_day_there_is_one_mail():
    RuleFactory()
    a_case().refresh(date(2026, 11, 1))
    start = datetime(2026, 11, 1, 5, tzinfo=UTC)
    for quarter in range(4 * 26):
        now = start + timedelta(minutes=15 * quarter)
        run_tick(now=now, today=shop_date(now))
    assert OutgoingMail.objects.count() == 1


@pytest.mark.parametrize("day", [date(2026, 3, 2), date(2026, 3, 5)])
def test_a_tick_that_was_missed_for_days_says_it_once(day):
    RuleFactory()
    case = a_case()
    case.refresh(date(2026, 1, 1))
    assert case.item.contact_on == date(2026, 1, 30)
    assert tick(day).digests == 1
    assert tick(day + timedelta(days=1)).digests == 0


def test_a_vehicle_that_was_sold_without_a_word_gets_no_mail():
    RuleFactory()
    case = a_case()
    case.refresh(DAY)
    Ownership.objects.update(until=DAY)
    report = tick()
    assert (report.silent, report.digests) == (1, 0)
    assert (case.item.contact_on, case.item.silence) == (
        None,
        "No mail: nobody owns the vehicle in our records.",
    )


def test_of_two_vehicles_only_the_one_still_owned_is_told():
    RuleFactory()
    case = a_case()
    second = OwnershipFactory(customer=case.customer).vehicle
    FittingFactory(vehicle=second)
    case.refresh(DAY)
    type(case)(case.customer, second, case.fitting).refresh(DAY)
    Ownership.objects.filter(vehicle=case.vehicle).update(until=DAY)
    report = tick()
    assert (report.said, report.silent) == (1, 1)
    assert Reminder.objects.get().item.vehicle == second
    assert case.item.contact_on is None


def test_an_address_that_broke_without_a_word_gets_no_mail():
    RuleFactory()
    case = a_case()
    case.refresh(DAY)
    case.customer.emails.update(broken_since=date(2026, 3, 1))
    assert tick().silent == 1
    assert "has not worked since 1 March 2026" in case.item.silence


def test_a_booked_item_is_silent_and_comes_up_after_a_missed_visit():
    RuleFactory()
    case = a_case()
    case.refresh(DAY)
    mark_booked(item=case.item, on=date(2026, 3, 12), today=DAY, actor=DESK)
    assert tick().due == 0
    assert tick(date(2026, 3, 12)).due == 0
    report = tick(date(2026, 3, 13))
    assert report.said == 1
    assert case.item.state == "open"


def test_a_poisoned_customer_does_not_stop_the_others():
    RuleFactory()
    cases = [a_case(email=f"c{n}@mail.example") for n in range(3)]
    for case in cases:
        case.refresh(DAY)
    bad = cases[1].customer

    def render(digest):
        if digest.customer_id == bad.pk:
            raise KeyError("ink")
        return write_digest(digest)

    report = tick(render=render)
    assert (report.digests, report.postponed, len(report.failed)) == (2, 1, 1)
    assert "could not be written (KeyError)" in cases[1].item.silence
    assert cases[1].item.contact_on == DAY + timedelta(days=1)
    assert tick(render=render).due == 0
    assert tick(DAY + timedelta(days=1)).digests == 1


def test_an_address_that_no_mail_server_takes_does_not_stop_the_others():
    RuleFactory()
    cases = [
        a_case(email=email) for email in ("a@mail.example", "not an address", "c@mail.example")
    ]
    for case in cases:
        case.refresh(DAY)
    report = tick()
    assert (report.digests, report.postponed) == (2, 1)
    assert "is not an e-mail address" in cases[1].item.silence


def test_another_tick_between_look_and_writing_makes_no_double():
    RuleFactory()
    for n in range(3):
        a_case(email=f"c{n}@mail.example").refresh(DAY)
    inner = []

    def render(digest):
        if not inner:
            inner.append(None)
            inner.append(tick())
        return write_digest(digest)

    report = tick(render=render)
    assert inner[1].digests == 3
    assert report.digests == 0
    assert (OutgoingMail.objects.count(), Reminder.objects.count()) == (3, 3)


def test_a_change_between_look_and_writing_is_respected():
    RuleFactory()
    cases = [a_case(email=f"c{n}@mail.example") for n in range(2)]
    for case in cases:
        case.refresh(DAY)

    def render(digest):
        DueItem.objects.filter(customer=cases[0].customer).update(
            state="booked", booked_for=date(2026, 4, 1), contact_on=date(2026, 4, 2)
        )
        return write_digest(digest)

    assert tick(render=render).digests == 1
    assert OutgoingMail.objects.get().customer == cases[1].customer


def test_two_customers_at_one_address_are_greeted_each_by_name():
    RuleFactory()
    for name in ("Ann Fenn", "Ben Fenn"):
        a_case(email="fenn@mail.example", name=name, called="").refresh(DAY)
    assert tick().digests == 2
    greetings = {mail.text.splitlines()[0] for mail in OutgoingMail.objects.all()}
    assert greetings == {"Dear Ann Fenn,", "Dear Ben Fenn,"}


def test_a_customer_with_two_vehicles_gets_one_mail():
    RuleFactory()
    case = a_case()
    second = OwnershipFactory(customer=case.customer).vehicle
    FittingFactory(vehicle=second)
    EmailFactory(customer=case.customer, address="other@mail.example")
    case.refresh(DAY)
    type(case)(case.customer, second, case.fitting).refresh(DAY)
    assert tick().digests == 1
    mail = OutgoingMail.objects.get()
    assert mail.to_address == "wren@mail.example"
    assert mail.subject.startswith("2 vehicles: service reminder, ")


def test_the_number_of_queries_does_not_grow_with_the_customers():
    RuleFactory()
    tick()  # The heartbeat's row is made once.

    def queries(count: int) -> int:
        for n in range(count):
            a_case(email=f"{count}-{n}@mail.example").refresh(DAY)
        with CaptureQueriesContext(connection) as caught:
            tick()
        return len(caught)

    assert queries(1) == queries(8)


def test_the_heartbeat_tells_when_it_last_ran():
    tick()
    beat = Heartbeat.objects.get(name="due_tick")
    assert beat.at == datetime(2026, 3, 2, 17, tzinfo=UTC)
    assert beat.said.startswith("0 due")


def test_the_tick_reads_an_index_and_not_the_table():
    """Its cost must follow what is due; a scan would grow with what is stored."""
    plan = DueItem.objects.to_be_said(DAY).filter(state="open").explain()
    overdue = DueItem.objects.overdue(DAY).explain()
    assert "due_to_be_said" in plan or connection.vendor == "postgresql"
    assert "due_open" in overdue or connection.vendor == "postgresql"
