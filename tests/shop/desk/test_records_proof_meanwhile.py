"""A proof is of what stood on the page: whatever changed meanwhile has to be measured anew."""

from typing import Any

import pytest
from django.test import Client

from installs.models import Verification
from shop import changes
from tests.factories.desk import ACTOR, TODAY
from tests.factories.paper import sent_back, words_of
from tests.shop.desk.test_records_proof import GOOD, filled, provable, prove
from vehicles.models import FeedMapRevision, ProcedureRevision, Vehicle

MEANWHILE = "The procedure or the wiring changed while you measured, so nothing was signed."


def revise(vehicle: Vehicle) -> None:
    """Somebody writes that the key stands elsewhere while the car is towed."""
    content = dict(ProcedureRevision.objects.in_force_for(vehicle).content)
    steps = [
        {**step, "value": "on"} if step["action"] == "key" else step for step in content["steps"]
    ]
    assert steps != content["steps"]
    changes.revise_procedure(
        content={**content, "steps": steps}, vehicle=vehicle, today=TODAY, actor=ACTOR
    )


def values_of(paper: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in paper.items() if ":" in name}


def test_a_page_of_before_the_revision_signs_nothing_and_keeps_the_values(
    technician: Client,
) -> None:
    one = provable()
    old = filled(technician.get(prove(one)), **GOOD, note="kept")
    revise(one)
    answer = technician.post(prove(one), old)
    assert MEANWHILE in words_of(answer)
    assert not Verification.objects.exists()
    paper = sent_back(answer)
    assert values_of(paper) == {name: [value] for name, value in values_of(old).items()}
    assert paper["note"] == ["kept"]
    assert paper["fingerprint"] != old["fingerprint"]


def test_it_is_signed_once_it_was_measured_anew(technician: Client) -> None:
    one = provable()
    old = filled(technician.get(prove(one)), **GOOD)
    revise(one)
    again = technician.post(prove(one), old)
    # Not by pressing the button once more: whoever signs says again that it was measured so.
    assert "Whoever signs has to say so." in words_of(technician.post(prove(one), sent_back(again)))
    technician.post(prove(one), filled(again, **GOOD))
    signed = Verification.objects.get()
    assert signed.procedure == ProcedureRevision.objects.in_force_for(one)
    assert signed.fingerprint == sent_back(again)["fingerprint"][0]


@pytest.mark.parametrize("told", ["", "made up"])
def test_a_page_that_does_not_say_what_it_showed_signs_nothing(
    technician: Client, told: str
) -> None:
    one = provable()
    technician.post(prove(one), filled(technician.get(prove(one)), **GOOD) | {"fingerprint": told})
    assert not Verification.objects.exists()


def test_a_value_stays_at_its_port_where_another_row_comes_before_it(technician: Client) -> None:
    one = provable()
    old = filled(technician.get(prove(one)), **GOOD)
    (volts,) = [name for name in old if name.startswith("volts:")]
    content = dict(FeedMapRevision.objects.in_force_for(one).content)
    content["loads"] = [
        {"id": "eps", "name": "steering assist", "feed": "fuse:F21", "needs": {"tow": "on"}}
    ]
    changes.revise_feed_map(content=content, vehicle=one, today=TODAY, actor=ACTOR)
    paper = sent_back(technician.post(prove(one), old))
    assert paper[volts] == ["12.6"]
    others = [name for name in paper if name.startswith("volts:") and name != volts]
    assert others
    assert [paper[name] for name in others] == [[""]] * len(others)


def test_what_differs_from_the_last_proof_stands_on_the_page(technician: Client) -> None:
    one = provable()
    technician.post(prove(one), filled(technician.get(prove(one)), **GOOD))
    assert "What differs from the last proof" not in words_of(technician.get(prove(one)))
    revise(one)
    assert "What differs from the last proof" in words_of(technician.get(prove(one)))
