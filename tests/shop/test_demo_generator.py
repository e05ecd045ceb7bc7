"""The fleet for the benches: written in bulk, and yet as the services would have left it."""

from datetime import UTC, date, datetime

import pytest

from installs.models import Fitting, Reverification, Standing, Verification
from shop.demo.generator import make_fleet
from shop.people.models import Customer, Ownership
from shop.reminders.models import DueItem
from shop.reminders.services import run_nightly
from vehicles.models import Event, Vehicle

pytestmark = pytest.mark.django_db
TODAY = date(2026, 6, 15)
NOW = datetime(2026, 6, 15, 9, tzinfo=UTC)
# More than one of each rarity: 3 due, 2 never proven, 24 second cars.
SIZE = 120


def rows(model: type[DueItem] | type[Standing]) -> list[dict[str, object]]:
    return list(model.objects.order_by("pk").values())


def judged() -> list[dict[str, object]]:
    """All standings without the findings that the first night works out and keeps for speed."""
    kept = {"numbers"}
    return [{k: v for k, v in row.items() if k not in kept} for row in rows(Standing)]


def test_the_nightly_run_finds_nothing_to_put_right() -> None:
    fleet = make_fleet(vehicles=SIZE, today=TODAY)
    items, standings, events = rows(DueItem), judged(), Event.objects.count()

    raised = run_nightly(now=NOW, today=TODAY)

    assert raised == 0
    assert rows(DueItem) == items
    assert judged() == standings
    assert Event.objects.count() == events
    assert fleet.due_items <= len(items)


def test_the_counts_and_the_spread() -> None:
    fleet = make_fleet(vehicles=SIZE, today=TODAY)
    towed = Vehicle.objects.towed().exclude(plate__startswith="PATTERN")
    assert towed.count() == fleet.vehicles == SIZE
    assert fleet.customers == Customer.objects.count() == SIZE * 4 // 5
    assert 9 * SIZE <= fleet.due_items <= 13 * SIZE
    assert Reverification.objects.open().count() == SIZE // 100
    due = DueItem.objects.to_be_said(TODAY).filter(category="service")
    assert due.values("vehicle").distinct().count() == 3
    assert Vehicle.objects.motorhomes().count() == SIZE // 2
    assert Ownership.objects.current().count() == SIZE + SIZE // 2


def test_a_second_call_adds_to_the_fleet() -> None:
    make_fleet(vehicles=20, today=TODAY, seed=7)
    vins = set(Vehicle.objects.towed().values_list("vin", flat=True))

    second = make_fleet(vehicles=20, today=TODAY, seed=7)

    assert second.vehicles == 20
    assert Customer.objects.count() == 32
    assert len(set(Vehicle.objects.towed().values_list("vin", flat=True)) - vins) == 20


def test_every_proof_names_the_parts_of_its_own_vehicle() -> None:
    make_fleet(vehicles=12, today=TODAY)
    for proof in Verification.objects.all():
        fitted = Fitting.objects.filter(vehicle=proof.vehicle).values_list("component", flat=True)
        named = {reading["component"] for reading in proof.measured}
        parts = {name for name in named if not name.startswith("load:")}
        assert parts
        assert parts <= {f"c{component}" for component in fitted}
