"""Readings that count as something else than was read: distances go on growing.

A swapped cluster that shows 50,000 km less: common practice, no source.
"""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from tests.factories.vehicles import TowedFactory
from vehicles import corrections, services
from vehicles.models import Event, Reading, Vehicle
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
TEO = Actor("Teo Lind", 2)


def read(vehicle: Vehicle, km: int, day: int, note: str = "") -> Reading:
    return services.add_reading(
        vehicle=vehicle,
        what=Reading.What.ODOMETER,
        value=Decimal(km),
        typed=f"{km} km",
        on=date(2026, 3, day),
        actor=TEO,
        note=note,
    )


def correct(reading: Reading, sort: str, total: int, why: str = "cluster replaced 2 March") -> None:
    corrections.correct_reading(
        reading=reading, sort=sort, total=Decimal(total), typed=f"{total} km", why=why, actor=TEO
    )


def test_after_a_new_cluster_the_distance_goes_on_growing() -> None:
    vehicle = TowedFactory()
    old = read(vehicle, 138_000, 1)
    with pytest.raises(ValidationError, match="It stood at 138000 km"):
        read(vehicle, 88_000, 2)
    new = read(vehicle, 88_000, 2, note="cluster replaced")

    correct(new, "replaced", 138_040)
    later = read(vehicle, 88_500, 9)

    assert corrections.counts_as(old) == 138_000
    assert corrections.counts_as(new) == 138_040
    assert corrections.counts_as(later) == 138_540


def test_a_slip_of_the_pen_is_put_right_for_that_reading_alone() -> None:
    vehicle = TowedFactory()
    slip = read(vehicle, 412_500, 1)
    correct(slip, "misread", 41_250, why="one digit too many")

    later = read(vehicle, 41_300, 9)

    assert corrections.counts_as(slip) == 41_250
    assert corrections.counts_as(later) == 41_300


def test_what_was_read_stays_and_the_log_tells_of_the_correction() -> None:
    reading = read(TowedFactory(), 412_500, 1)
    correct(reading, "misread", 41_250, why="one digit too many")

    reading.refresh_from_db()
    assert reading.typed == "412500 km"
    event = Event.objects.get(verb="corrected reading")
    assert (event.after["counts as"], event.why) == ("41250", "one digit too many")


def test_a_correction_wants_a_reason_and_a_difference() -> None:
    reading = read(TowedFactory(), 41_250, 1)

    with pytest.raises(ValidationError, match="Say why"):
        correct(reading, "misread", 41_300, why=" ")
    with pytest.raises(ValidationError, match="counts as already"):
        correct(reading, "misread", 41_250)
