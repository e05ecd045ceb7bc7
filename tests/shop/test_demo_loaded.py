"""The demo in the records: loaded once, and each told trouble is really there."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from django.test import override_settings

from installs.models import Component, Fitting, Reverification, Standing
from installs.services.judging import judge_vehicle
from shop.demo.documents import document_of
from shop.demo.fleet import TOWED
from shop.demo.loader import PASSWORD, DemoReport, load_demo
from shop.demo.story import TROUBLES, Trouble
from shop.outbox.models import OutgoingMail
from shop.people.models import Customer, User
from shop.reminders.models import DueItem
from shop.reminders.services import TickReport, run_tick
from vehicles.models import Event, Vehicle

# All of this file shares one loaded shop, so it stays with one worker.
pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("demo")]
TODAY = date(2026, 6, 15)
NOW = datetime(2026, 6, 15, 17, tzinfo=UTC)


@pytest.fixture(scope="module")
def report(django_db_setup: None, django_db_blocker: Any) -> Iterator[DemoReport]:
    """Load the demo once for all tests of this file; nothing of it is left behind."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield load_demo(today=TODAY)
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def cars(report: DemoReport) -> dict[str, Vehicle]:
    """The loaded vehicles by their key in the fleet."""
    vins = {car.key: document_of(car, today=TODAY)["vehicle"]["vin"] for car in TOWED}
    return {key: Vehicle.objects.get(vin=vin) for key, vin in vins.items()}


def test_about_sixty_customers_and_a_hundred_vehicles(report: DemoReport) -> None:
    assert report.created
    assert report.customers == 60
    assert 95 <= report.vehicles <= 115


def test_one_sign_in_per_role(report: DemoReport) -> None:
    assert [user.role for user in report.users] == ["desk", "technician", "owner"]
    for sign_in in report.users:
        assert User.objects.get(username=sign_in.username).check_password(PASSWORD)


def test_a_second_load_touches_nothing(report: DemoReport) -> None:
    events = Event.objects.count()
    again = load_demo(today=TODAY)
    assert not again.created
    assert (again.customers, again.vehicles) == (report.customers, report.vehicles)
    assert [user.username for user in again.users] == [user.username for user in report.users]
    assert Event.objects.count() == events


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda trouble: trouble.key)
def test_each_told_trouble_is_there(trouble: Trouble, cars: dict[str, Vehicle]) -> None:
    vehicle = cars[trouble.key]
    now = judge_vehicle(vehicle)
    # What the numbers say of volts and fuses is told beside it, on every vehicle.
    told = [finding for finding in now.judgement.findings if finding not in now.numeric]
    assert {finding.code for finding in told} == trouble.codes
    assert Standing.objects.get(vehicle=vehicle).proof == trouble.proof


def test_the_bulletin_is_told_in_words(cars: dict[str, Vehicle]) -> None:
    asked = Reverification.objects.open().get(vehicle=cars["revised"])
    assert asked.cause == Reverification.Cause.PROCEDURE
    words = " ".join(asked.differences)
    assert "F21" in words
    assert "F08" in words


def test_the_swapped_unit_left_its_wiring_and_its_proof(cars: dict[str, Vehicle]) -> None:
    (left,) = Fitting.objects.filter(vehicle=cars["swapped_old"], until__isnull=False)
    assert left.wiring_left_in
    (now,) = Fitting.objects.current().filter(vehicle=cars["swapped_new"])
    assert now.component == left.component
    asked = Reverification.objects.open().get(vehicle=cars["swapped_new"])
    assert asked.cause == Reverification.Cause.VEHICLE_ADDED


def test_the_shared_unit_is_in_one_car_at_a_time(cars: dict[str, Vehicle]) -> None:
    (unit,) = Component.objects.filter(shared=True)
    assert Fitting.objects.current().get(component=unit).vehicle == cars["shared_second"]
    assert unit.fittings.count() == 2


def test_outside_work_puts_the_proof_in_doubt(cars: dict[str, Vehicle]) -> None:
    asked = Reverification.objects.open().get(vehicle=cars["outside_work"])
    assert asked.cause == Reverification.Cause.OUTSIDE_WORK
    assert "dealer" in asked.differences[0]


def test_overdue_by_time_and_by_date_code(cars: dict[str, Vehicle]) -> None:
    overdue = DueItem.objects.overdue(TODAY)
    assert overdue.filter(
        vehicle=cars["overdue"], rule__check_asked__slug="breakaway_test"
    ).exists()
    (battery,) = overdue.filter(vehicle=cars["old_battery"])
    assert battery.rule.trigger == "date_code"


def test_each_silence_says_why(cars: dict[str, Vehicle]) -> None:
    said = {
        "sold": "nobody owns",
        "mail_failed": "has not worked since",
        "snoozed": "Put off until",
        "booked": "Booked for",
        "opted_out": "declined",
        "no_email": "no e-mail address",
    }
    soon = DueItem.objects.open().filter(due_on__lte=TODAY + timedelta(days=30))
    for key, words in said.items():
        silences = set(soon.filter(vehicle=cars[key]).values_list("silence", flat=True))
        assert silences, key
        assert all(words in silence for silence in silences), silences


def test_one_mail_failed_and_one_part_on_the_shelf_is_old(report: DemoReport) -> None:
    (failed,) = OutgoingMail.objects.needing_a_person()
    assert failed.last_error.startswith("550")
    assert Customer.objects.get(emails__broken_since__isnull=False) == failed.customer
    shelf = Component.objects.on_the_shelf()
    assert shelf.count() == 4
    assert shelf.get(kind__slug="breakaway_battery").date_code.year == 2022


def test_every_vehicle_tells_its_history(report: DemoReport) -> None:
    told = set(Event.objects.exclude(vehicle_id=None).values_list("vehicle_id", flat=True))
    assert told == set(Vehicle.objects.values_list("pk", flat=True))


def test_the_first_tick_speaks_and_the_second_is_silent(report: DemoReport) -> None:
    with override_settings(SHOP_URL="http://localhost:8000"):
        first: TickReport = run_tick(now=NOW, today=TODAY)
        second = run_tick(now=NOW, today=TODAY)
    assert not first.failed
    assert 15 <= first.digests <= 25
    assert (second.due, second.digests) == (0, 0)
    shared = OutgoingMail.objects.filter(to_address="larsens@mail.example")
    assert shared.values("customer").distinct().count() == 2
