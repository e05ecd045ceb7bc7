"""The lists of the desk and the pages behind them: what they show, and that they stay cheap."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from installs.models import Component, Standing
from shop.outbox.models import OutgoingMail
from shop.outbox.services import Letter, queue_mail
from shop.people.models import Customer, User
from shop.reminders.models import DueItem, Heartbeat
from tests.factories.desk import a_crestline, okafors
from tests.factories.installs import ComponentFactory, InspectionFactory, ReverificationFactory
from tests.factories.people import UserFactory
from tests.factories.reminders import RuleFactory, a_case
from vehicles.models import Event

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 24, 17, tzinfo=UTC)
TODAY = date(2026, 11, 24)


@pytest.fixture(autouse=True)
def _on_a_tuesday() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def desk(client: Client) -> Client:
    client.force_login(UserFactory(role=User.Role.DESK))
    return client


def a_mail(key: str = "a", state: str = "failed", **columns: Any) -> OutgoingMail:
    mail = queue_mail(
        Letter(
            key=key,
            kind="digest",
            to_address="wren@mail.example",
            subject="A reminder <b>",
            text="Dear Wren,\nthe battery is due.",
            html='<p style="color:red">Dear Wren</p><script>alert(1)</script>',
            headers={"List-Id": "service"},
            not_before=NOW,
        )
    )
    OutgoingMail.objects.filter(pk=mail.pk).update(state=state, **columns)
    return OutgoingMail.objects.get(pk=mail.pk)


def overdue(**rule: Any) -> DueItem:
    case = a_case()
    case.refresh(TODAY)
    return case.item


def one_of_each() -> None:
    """A row more on every list of the desk."""
    case = a_case()
    case.refresh(TODAY)
    ReverificationFactory(vehicle=case.vehicle)
    Standing.objects.create(
        vehicle=case.vehicle, proof="stale", risk=3, blocking=1, headline="Dead.", judged_on=TODAY
    )
    a_mail(f"mail-{case.customer.pk}", customer_id=case.customer.pk)


LISTS = (
    "today",
    "due",
    "reverifications",
    "customers",
    "vehicles",
    "components",
    "ranges",
    "mails",
    "log",
)


@pytest.mark.parametrize("name", LISTS)
def test_a_list_costs_the_same_queries_for_one_row_as_for_four(
    desk: Client, name: str, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    RuleFactory()
    one_of_each()
    url = reverse(f"desk:{name}")
    desk.get(url)
    with django_assert_max_num_queries(30) as first:
        desk.get(url)
    for _ in range(3):
        one_of_each()
    with django_assert_max_num_queries(len(first.captured_queries)):
        assert desk.get(url).status_code == 200


def test_today_tells_what_waits_and_how_grave_it_is(desk: Client) -> None:
    RuleFactory(name="Battery, load test", risk=3)
    one_of_each()
    html = desk.get(reverse("desk:today")).content.decode()
    assert '<strong class="fig">1</strong> to prove</a>' in html
    assert '<strong class="fig">1</strong> overdue' in html
    assert '<strong class="fig">1</strong> vehicle blocked' in html
    assert '<strong class="fig">1</strong> mail failed' in html
    assert "F12 is now pulled; the transmitter is fed from its load side." in html
    assert "high risk" in html
    assert "Dead." in html


def test_today_says_when_nothing_waits_and_never_that_all_is_well(desk: Client) -> None:
    Heartbeat.objects.create(name="due_tick", at=NOW)
    html = desk.get(reverse("desk:today")).content.decode()
    assert "Nothing waits for a person" in html
    assert "What nobody recorded cannot show up here." in html
    assert "stands still" not in html


def test_today_notices_that_the_worker_stands_still(desk: Client) -> None:
    assert "The worker has never run" in desk.get("/").content.decode()
    Heartbeat.objects.create(name="due_tick", at=datetime(2026, 11, 24, 14, tzinfo=UTC))
    assert "The worker stands still" in desk.get("/").content.decode()


def test_a_customer_page_tells_reach_vehicles_dues_and_mails(desk: Client) -> None:
    customer = okafors(note="Call in the morning.")
    a_crestline(customer=customer)
    a_mail(customer_id=customer.pk)
    html = desk.get(reverse("desk:customer", args=[customer.pk])).content.decode()
    assert 'href="tel:+13035550188;ext=12"' in html
    assert "Call in the morning." in html
    assert "2019 Alder Crestline" in html
    assert "Never proven" in html
    assert "A reminder &lt;b&gt;" in html


def test_a_customer_costs_the_same_queries_for_any_number_of_vehicles(
    desk: Client, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    customer = okafors()
    a_crestline(1, customer=customer)
    url = reverse("desk:customer", args=[customer.pk])
    with django_assert_max_num_queries(30) as first:
        desk.get(url)
    a_crestline(2, customer=customer)
    a_crestline(3, customer=customer)
    with django_assert_max_num_queries(len(first.captured_queries)):
        desk.get(url)


def test_a_technician_reads_no_mails(client: Client) -> None:
    client.force_login(UserFactory(role=User.Role.TECHNICIAN))
    mail = a_mail()
    assert client.get(reverse("desk:mails")).status_code == 404
    assert client.get(reverse("desk:mail", args=[mail.pk])).status_code == 404
    assert client.get(reverse("desk:mail_html", args=[mail.pk])).status_code == 404


def test_a_mail_is_shown_as_sent_and_its_html_apart(desk: Client) -> None:
    mail = a_mail(last_error="550 no such mailbox")
    html = desk.get(reverse("desk:mail", args=[mail.pk])).content.decode()
    assert "Dear Wren,\nthe battery is due." in html
    assert "550 no such mailbox" in html
    assert mail.message_id.strip("<>") in html
    assert "<script>alert" not in html
    part = desk.get(reverse("desk:mail_html", args=[mail.pk]))
    policy = part["Content-Security-Policy"]
    assert "sandbox" in policy
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert part["X-Frame-Options"] == "SAMEORIGIN"


def test_a_failed_mail_is_sent_again_or_settled_once(desk: Client) -> None:
    mail = a_mail()
    desk.post(reverse("desk:mail_retry", args=[mail.pk]))
    mail.refresh_from_db()
    assert mail.state == "queued"
    other = a_mail("b")
    desk.post(reverse("desk:mail_settle", args=[other.pk]), {"why": "phoned them"})
    other.refresh_from_db()
    assert (other.state, other.settled_at) == ("failed", NOW)
    assert Event.objects.first().why == "phoned them"
    again = desk.post(reverse("desk:mail_settle", args=[other.pk]), follow=True)
    assert "Nothing was changed." in again.content.decode()


def test_a_due_item_is_explained(desk: Client) -> None:
    RuleFactory(why="A tired battery gives out.")
    item = overdue()
    html = desk.get(reverse("desk:due_item", args=[item.pk])).content.decode()
    assert "Due on 1 March 2026: 12 months after it was first fitted on 1 March 2025." in html
    assert "A tired battery gives out." in html
    assert reverse("desk:inspect", args=[item.vehicle_id]) in html


def test_a_due_item_is_booked_put_off_and_unbooked(desk: Client) -> None:
    RuleFactory()
    item = overdue()
    desk.post(reverse("desk:due_booked", args=[item.pk]), {"booked-day": "2026-12-01"})
    item.refresh_from_db()
    assert (item.state, item.booked_for) == ("booked", date(2026, 12, 1))
    desk.post(reverse("desk:due_unbooked", args=[item.pk]))
    item.refresh_from_db()
    assert (item.state, item.booked_for) == ("open", None)
    desk.post(reverse("desk:due_snooze", args=[item.pk]), {"snooze-day": "2026-12-24"})
    item.refresh_from_db()
    assert item.snoozed_until == date(2026, 12, 24)
    assert item.due_on == date(2026, 3, 1)


@pytest.mark.parametrize(
    ("name", "field", "typed", "sentence"),
    [
        ("due_booked", "booked-day", "2026-11-01", "1 November 2026 is past."),
        ("due_snooze", "snooze-day", "2026-11-24", "24 November 2026 is not in the future."),
        ("due_booked", "booked-day", "9999-12-31", "31 December 9999 is too far ahead."),
        ("due_snooze", "snooze-day", "2062-12-01", "1 December 2062 is too far ahead."),
        ("due_booked", "booked-day", "", "This field is required."),
        ("due_snooze", "snooze-day", "someday", "Enter a valid date."),
    ],
)
def test_a_wrong_day_is_named_at_its_field_and_kept(
    desk: Client, name: str, field: str, typed: str, sentence: str
) -> None:
    RuleFactory()
    item = overdue()
    response = desk.post(reverse(f"desk:{name}", args=[item.pk]), {field: typed})
    html = response.content.decode()
    assert sentence in html
    assert f'value="{typed}"' in html or not typed
    item.refresh_from_db()
    assert (item.state, item.snoozed_until) == ("open", None)


def test_the_due_list_narrows_to_what_needs_a_call(desk: Client) -> None:
    RuleFactory(name="Battery, load test")
    case = a_case(email=None)
    case.refresh(TODAY)
    html = desk.get(reverse("desk:due"), {"show": "silent"}).content.decode()
    assert "Battery, load test" in html
    assert case.item.silence in html
    assert "Nothing falls due" in desk.get(reverse("desk:due"), {"show": "soon"}).content.decode()


def test_the_log_is_narrowed_and_walked_back(desk: Client) -> None:
    customer = okafors()
    for number in range(1, 4):
        a_crestline(number, customer=customer)
    url = reverse("desk:log")
    first = desk.get(url)
    assert first.context["further"]
    older = desk.get(url, {"before": first.context["further"]})
    assert older.status_code == 200
    only = desk.get(url, {"customer": customer.pk, "did": "took over"}).context["events"]
    assert len(only) == 3
    assert "Ines and Paul Okafor" in only[0]["words"]
    assert desk.get(url, {"who": "nobody"}).context["events"] == []


def test_a_part_keeps_its_history_over_vehicles(desk: Client) -> None:
    fitting = a_crestline().fittings.first()
    InspectionFactory(fitting=fitting, done_on=TODAY, values={"volts": "12.4"})
    html = desk.get(reverse("desk:component", args=[fitting.component_id])).content.decode()
    assert "2019 Alder Crestline" in html
    assert "Load test" in html
    assert "12.4" in html


def test_parts_are_narrowed_by_kind_and_place(desk: Client) -> None:
    ComponentFactory(serial="ON-SHELF", state=Component.State.IN_STOCK)
    ComponentFactory(serial="FITTED-1")
    html = desk.get(reverse("desk:components"), {"state": "in_stock"}).content.decode()
    assert "ON-SHELF" in html
    assert "FITTED-1" not in html


def test_a_range_shows_its_map_procedure_and_vehicles(desk: Client) -> None:
    vehicle = a_crestline()
    html = desk.get(reverse("desk:range", args=[vehicle.model_range_id])).content.decode()
    assert "Pull fuse F08" in html
    assert "dash outlet" in html
    assert reverse("desk:vehicle", args=[vehicle.pk]) in html


@pytest.mark.parametrize("role", ["", User.Role.DESK])
def test_nobody_without_a_role_reads_a_customer(client: Client, role: str) -> None:
    client.force_login(UserFactory(role=role))
    customer: Customer = okafors()
    expected = 200 if role else 404
    assert client.get(reverse("desk:customer", args=[customer.pk])).status_code == expected
