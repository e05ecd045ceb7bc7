"""The workbench: figures by the shop's limits, sentences where something is missing or cannot be.

14 ga full AWG has 2.525 mΩ/ft at 20 °C (published wire tables, within rounding).
"""

import html
import re
from datetime import date
from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Fitting
from tests.factories.desk import a_crestline
from tests.factories.people import UserFactory
from vehicles.models import Event

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 1)
WIRE: dict[str, Any] = {
    "try": "wire", "wire-standard": "awg", "wire-size": "14", "wire-length_0": "10",
    "wire-length_1": "ft", "wire-load_0": "10", "wire-load_1": "A", "wire-back": "wire",
    "wire-use": "drop_share_critical",
}  # fmt: skip
FUSE = {"try": "fuse", "fuse-rating_0": "20", "fuse-rating_1": "A", "fuse-load_0": "12",
        "fuse-load_1": "A", "fuse-size": "16"}  # fmt: skip
BATTERY = {"try": "battery", "battery-chemistry": "flooded", "battery-capacity": "60",
           "battery-draw_0": "3", "battery-draw_1": "A", "battery-hours": "6"}  # fmt: skip


@pytest.fixture
def technician(client: Client) -> Client:
    client.force_login(UserFactory(role="technician"))
    return client


def tried(client: Client, asked: dict[str, Any], **changes: Any) -> str:
    response = client.get(f"{reverse('desk:workbench')}?{urlencode({**asked, **changes})}")
    assert response.status_code == 200
    return html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode()))


def test_a_wire_loses_volts_there_and_back(technician: Client) -> None:
    told = tried(technician, WIRE)

    lost = float(re.search(r"([\d.]+) V, at most", told)[1])
    cold = 2 * 10 * 10 * 2.525e-3
    assert cold < lost < cold * 1.16  # stranded, and warmer than the table's 20 °C
    assert "Thinnest that does it" in told


def test_a_fuse_above_its_wire_asks_for_another_wire(technician: Client) -> None:
    told = tried(technician, FUSE)

    assert "wire too small" in told
    assert "from memory, confirm" in told


def test_a_battery_that_is_spent_before_the_leg_fails(technician: Client) -> None:
    assert "holds" in tried(technician, BATTERY)
    assert "fails" in tried(technician, BATTERY, **{"battery-draw_0": "12"})


@pytest.mark.parametrize(
    ("asked", "changes", "sentence"),
    [
        (WIRE, {"wire-size": "14.5"}, "There is no gauge “14.5”"),
        (WIRE, {"wire-length_0": "0"}, "must be more than 0"),
        (WIRE, {"wire-length_0": "-3"}, "cannot be negative"),
        (WIRE, {"wire-length_0": ""}, "Measure the length of the run"),
        (WIRE, {"wire-size": ""}, "Read the size on the wire's jacket"),
        (WIRE, {"wire-load_0": "ten"}, "“ten” is not a number"),
        (FUSE, {"fuse-load_0": "", "fuse-rating_0": "10"}, "measure the load's current"),
        (FUSE, {"fuse-carries_0": "15", "fuse-carries_1": "A"}, "or its size, not both"),
        (BATTERY, {"battery-capacity": ""}, "Read the battery's amp-hours"),
        (BATTERY, {"battery-capacity": "0"}, "must be more than 0"),
        (
            BATTERY,
            {"battery-volts_0": "120", "battery-volts_1": "V", "battery-rested": "9"},
            "is no resting voltage of a 12 V battery",
        ),
        (BATTERY, {"battery-volts_0": "12.5", "battery-volts_1": "V"}, "Note the hours since"),
    ],
)
def test_what_is_missing_or_cannot_be_is_said(
    technician: Client, asked: dict[str, Any], changes: dict[str, Any], sentence: str
) -> None:
    assert sentence.casefold() in tried(technician, asked, **changes).casefold()


def test_a_result_is_kept_with_the_part_and_logged(technician: Client) -> None:
    vehicle = a_crestline()
    fitting = Fitting.objects.filter(vehicle=vehicle).first()

    technician.post(reverse("desk:workbench_attach", args=[fitting.pk]), WIRE)

    fitting.refresh_from_db()
    assert "A wire, reckoned" in fitting.note
    assert "Lost there and back" in fitting.note
    assert Event.objects.filter(verb="noted on part").count() == 1


def test_nothing_is_kept_of_a_bench_that_is_not_filled_in(technician: Client) -> None:
    vehicle = a_crestline()
    fitting = Fitting.objects.filter(vehicle=vehicle).first()

    technician.post(reverse("desk:workbench_attach", args=[fitting.pk]), {"try": "wire"})

    fitting.refresh_from_db()
    assert fitting.note == ""


def fed(vehicle: Any) -> Fitting:
    rows = Fitting.objects.filter(vehicle=vehicle).order_by("id")
    return next(row for row in rows if row.ports)


def test_a_tried_wire_becomes_the_wire_of_a_port_and_is_judged_anew(technician: Client) -> None:
    fitting = fed(a_crestline())
    port = next(iter(fitting.ports))

    technician.post(
        reverse("desk:workbench_attach", args=[fitting.pk]), {**WIRE, "port": port}, follow=True
    )

    fitting.refresh_from_db()
    assert fitting.ports[port]["wire"] == {"awg": 14.0, "length_m": 3.048}
    assert "A wire, reckoned" in fitting.note
    event = Event.objects.get(verb="rewired")
    assert event.why == "reckoned on the workbench"


def test_a_wire_without_its_size_is_not_recorded(technician: Client) -> None:
    fitting = fed(a_crestline())
    port, before = next(iter(fitting.ports)), fitting.ports

    answer = technician.post(
        reverse("desk:workbench_attach", args=[fitting.pk]),
        {**WIRE, "wire-size": "", "port": port},
        follow=True,
    )

    fitting.refresh_from_db()
    assert fitting.ports == before
    assert fitting.note == ""
    assert "size and length are needed" in answer.content.decode()


def test_a_result_that_is_sent_twice_is_kept_once(technician: Client) -> None:
    fitting = fed(a_crestline())
    for _ in range(2):
        technician.post(reverse("desk:workbench_attach", args=[fitting.pk]), BATTERY)
    fitting.refresh_from_db()
    assert fitting.note.count("reckoned") == 1


def test_a_breakaway_battery_is_held_against_its_minutes(technician: Client) -> None:
    asked = {"try": "breakaway", "breakaway-capacity": "5", "breakaway-draw_0": "9.5",
             "breakaway-draw_1": "A"}  # fmt: skip
    assert "too close to call" in tried(technician, asked)
    assert "holds" in tried(technician, asked, **{"breakaway-capacity": "12"})
    told = tried(technician, asked, **{"breakaway-draw_0": ""})
    assert "Measure the brake's current while it holds" in told


def test_what_the_charge_line_brings_counts(technician: Client) -> None:
    drawn = {**BATTERY, "battery-draw_0": "12", "battery-charge_1": "A"}
    assert "fails" in tried(technician, drawn)
    assert "holds" in tried(technician, drawn, **{"battery-charge_0": "10"})


def test_the_number_of_a_part_that_cannot_be_is_no_part(technician: Client) -> None:
    for number in ("9" * 60, "x", "-1", "0"):
        assert "open the workbench from that part" in tried(technician, {"fitting": number})
