"""Proofs and inspections by form: nothing filled in beforehand, nothing signed unproven."""

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from installs.models import Check, Inspection, Verification
from tests.factories.desk import a_crestline, crestline, okafors
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Event, Vehicle


def provable() -> Vehicle:
    """A vehicle on which only a part with its own battery and one tapped ahead of a fuse sit."""
    document = crestline()
    document["fittings"] = [
        {
            "id": "B",
            "kind": "transmitter",
            "serial": "T-1",
            "ports": {
                "supply": {
                    "feed": "fuse:F21@supply", "ground": "body", "own_fuse_a": 5,
                    "known": "measured",
                }
            },
        }
    ]  # fmt: skip
    document["feed_map"]["loads"] = []
    kept = {name: document[name] for name in ("fittings", "feed_map")}
    return a_crestline(customer=okafors(), **kept)


def prove(vehicle: Vehicle) -> str:
    return reverse("desk:prove", args=[vehicle.pk])


GOOD = {"volts": "12.6", "minutes": "40", "measured_so": "on"}


def filled(page: HttpResponse, **typed: Any) -> dict[str, Any]:
    """The page as sent with these volts and minutes in every row, and the rest by name."""
    paper = sent_back(page)
    return paper | {
        name: typed[what]
        for name in (*paper, "measured_so", "note", "proven_on")
        for what in [name.partition(":")[0]]
        if what in typed
    }


def measure(client: Client, vehicle: Vehicle, **typed: Any) -> HttpResponse:
    return client.post(prove(vehicle), filled(client.get(prove(vehicle)), **typed))


def test_a_good_measurement_is_signed_and_bound(technician: Client) -> None:
    one = provable()
    measure(technician, one, **GOOD)
    signed = Verification.objects.get()
    assert (signed.signed_by, signed.vehicle) == ("Technician", one)
    assert [(m["volts"], m["minutes_since_key_off"]) for m in signed.measured] == [(12.6, 40.0)]
    assert Event.objects.filter(verb="signed proof", vehicle_id=one.pk).exists()


def test_nothing_that_proves_is_filled_in_beforehand(technician: Client) -> None:
    paper = sent_back(technician.get(prove(provable())))
    rows = {name: value for name, value in paper.items() if ":" in name}
    assert [name.partition(":")[0] for name in rows] == ["volts", "minutes"]
    assert list(rows.values()) == [[""], [""]]
    assert "measured_so" not in paper


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"volts": ""}, "Volts at the port", "Measure the volts at this port."),
        ({"minutes": ""}, "Minutes since key-off", "Say how many minutes after key-off"),
        ({"minutes": "2"}, "Minutes since key-off", "2 min after key-off is too early."),
        ({"volts": "3"}, "Volts at the port", "3 V; at least 10.5 V is wanted."),
        ({"volts": "12,6"}, "Volts at the port", "Is the comma in “12,6” a decimal sign?"),
        ({"measured_so": []}, "I measured these values", "Whoever signs has to say so."),
        ({"proven_on": "2126-01-01"}, "Measured on", "is still to come"),
    ],
)
def test_what_proves_nothing_is_refused_at_its_field(
    technician: Client, typed: dict[str, object], field: str, sentence: str
) -> None:
    answer = measure(technician, provable(), **{**GOOD, "note": "kept", **typed})
    assert field in words_of(answer)
    assert sentence in words_of(answer)
    assert sent_back(answer)["note"] == ["kept"]
    assert not Verification.objects.exists()


def test_a_blocking_finding_keeps_a_proof_from_being_signed(technician: Client) -> None:
    one = a_crestline()
    page = technician.get(prove(one))
    assert "This cannot be signed yet" in words_of(page)
    answer = technician.post(prove(one), filled(page, **GOOD))
    assert answer.status_code == 200
    assert not Verification.objects.exists()


def test_a_double_click_signs_once(technician: Client) -> None:
    url = prove(provable())
    paper = filled(technician.get(url), **GOOD)
    assert technician.post(url, paper).url == technician.post(url, paper).url
    assert Verification.objects.count() == 1


def test_the_cautions_stand_before_the_hand_acts(technician: Client) -> None:
    shown = words_of(technician.get(prove(provable())))
    assert "Before the vehicle is put into its tow state" in shown
    assert "Before the breakaway pin is pulled: the brakes act by themselves" in shown


@pytest.fixture
def check(db: None) -> Check:
    return Check.objects.create(slug="pin", name="Pin test", asks="Pull the pin; brakes lock.")


def test_an_inspection_is_kept_with_what_was_measured(technician: Client, check: Check) -> None:
    one = a_crestline()
    part = one.fittings.get(component__kind__slug="breakaway_switch")
    url = f"{reverse('desk:inspect', args=[one.pk])}?fitting={part.pk}"
    answer = fill_in(
        technician, url, check=str(check.pk), result="stiff", values="hold time: 12 min"
    )
    look = Inspection.objects.get()
    assert (look.fitting, look.values, look.by) == (part, {"hold time": "12 min"}, "Technician")
    assert "due at once until the next good look" in words_of(technician.get(answer.url))


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"result": ""}, "What came of it: This field is required."),
        ({"values": "12 min"}, "“12 min”: write what, a colon, and the value."),
        ({"elsewhere": "on"}, "Say who did it, or who told you."),
        ({"done_on": "2020-01-01"}, "This part was fitted on 2025-06-01, after that day."),
    ],
)
def test_an_inspection_that_says_too_little_is_refused_at_its_field(
    technician: Client, check: Check, typed: dict[str, str], sentence: str
) -> None:
    one = a_crestline()
    part = one.fittings.get(component__kind__slug="transmitter")
    told = {"fitting": str(part.pk), "check": str(check.pk), "result": "passed", "note": "kept"}
    answer = fill_in(technician, reverse("desk:inspect", args=[one.pk]), **{**told, **typed})
    assert sentence in words_of(answer)
    assert sent_back(answer)["note"] == ["kept"]
    assert not Inspection.objects.exists()


def test_work_done_elsewhere_makes_the_proof_stale(technician: Client) -> None:
    one = provable()
    measure(technician, one, **GOOD)
    url = reverse("desk:outside_work", args=[one.pk])
    assert "This field is required." in words_of(fill_in(technician, url, told=" "))
    answer = fill_in(technician, url, told="New stop-lamp switch at a garage, 3 May.")
    assert Verification.objects.get().stale_why == ["New stop-lamp switch at a garage, 3 May."]
    assert "must be proven again" in words_of(technician.get(answer.url))


def test_a_check_that_is_no_number_in_the_address_does_no_harm(technician: Client) -> None:
    url = reverse("desk:inspect", args=[provable().pk])
    assert technician.get(url, {"check": "²"}).status_code == 200
