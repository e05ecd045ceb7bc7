"""An inspection reaches the judgement, the proof and what is due, and its cure undoes that."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from installs.models import Check, ComponentKind, Fitting, Reverification, Standing, Verification
from installs.reads import sheets_of
from installs.services.judging import judge_vehicle
from shop import changes
from shop.sheets import load_sheet, sheet_of
from tests.factories.proving import BY, MARA, TODAY, asked_of, own, procedure, prove, standing

WORDS = f"{TODAY.day} November {TODAY.year}"


@pytest.fixture
def check(db: None) -> Check:
    return Check.objects.create(slug="pull", name="Pull and hold")


def look(fitting: Fitting | None, check: Check, result: str, **fields: object) -> None:
    vehicle = fields.pop("vehicle", None) or fitting.vehicle
    told = {"done_on": TODAY, **fields}
    changes.record_inspection(
        vehicle=vehicle, fitting=fitting, check=check, result=result, **told, **BY
    )


def test_a_part_that_did_nothing_ends_the_proof_and_asks_for_one(
    proven: Fitting, check: Check
) -> None:
    look(proven, check, "nothing")
    (sentence,) = asked_of(proven.vehicle)
    assert sentence == f"Transmitter did nothing on {WORDS} (Pull and hold)."
    asked = Reverification.objects.open().get()
    assert asked.cause == Reverification.Cause.INSPECTION
    row = Standing.objects.get(vehicle=proven.vehicle)
    assert (row.proof, row.blocking, row.headline) == ("stale", 1, sentence)
    assert row.told == [sentence]
    assert Verification.objects.get().stale_why == [sentence]


def test_nobody_signs_over_it(proven: Fitting, check: Check) -> None:
    look(proven, check, "failed")
    with pytest.raises(ValidationError, match="Transmitter failed on"):
        prove(proven)


def test_a_good_look_restores_the_proof(proven: Fitting, check: Check) -> None:
    look(proven, check, "failed")
    look(proven, check, "passed")
    assert standing(proven.vehicle) == "good"
    assert asked_of(proven.vehicle) == []
    assert Verification.objects.get().stale_on is None


def test_a_stiff_part_warns_and_leaves_the_proof(proven: Fitting, check: Check) -> None:
    look(proven, check, "stiff")
    assert standing(proven.vehicle) == "good"
    (finding,) = judge_vehicle(proven.vehicle).judgement.findings
    assert (finding.severity, finding.blocking) == ("WARNING", False)
    assert Standing.objects.get(vehicle=proven.vehicle).headline == finding.title


def test_what_is_not_of_the_braking_warns_only(proven: Fitting, check: Check) -> None:
    ComponentKind.objects.update(duty="other")
    look(proven, check, "failed")
    assert standing(proven.vehicle) == "good"


def test_the_trouble_leaves_with_the_part(proven: Fitting, check: Check) -> None:
    look(proven, check, "failed")
    changes.remove_component(fitting=proven, until=TODAY, why="replaced", **BY)
    assert judge_vehicle(proven.vehicle).judgement.findings == ()


def test_a_failed_part_is_still_failed_on_the_next_vehicle(
    proven: Fitting, check: Check, ines: object
) -> None:
    look(proven, check, "failed")
    other = own(ines, plate="NEXT 1")
    changes.move_component(fitting=proven, vehicle=other, on=TODAY, why="swap", **BY)
    codes = {finding.code for finding in judge_vehicle(other).judgement.findings}
    assert "failed_look" in codes


def test_a_look_at_the_vehicle_as_a_whole_counts(proven: Fitting, check: Check) -> None:
    look(None, check, "failed", vehicle=proven.vehicle)
    assert standing(proven.vehicle) == "stale"
    look(proven, check, "passed")
    assert standing(proven.vehicle) == "stale"
    look(None, check, "passed", vehicle=proven.vehicle)
    assert standing(proven.vehicle) == "good"


def test_of_two_looks_on_one_day_the_later_entry_counts(proven: Fitting, check: Check) -> None:
    look(proven, check, "passed")
    look(proven, check, "failed")
    assert standing(proven.vehicle) == "stale"
    look(proven, check, "passed", done_on=TODAY - timedelta(days=1))
    assert standing(proven.vehicle) == "stale"
    look(proven, check, "not_tested")
    assert standing(proven.vehicle) == "stale"


def test_all_that_stands_against_a_part_is_on_the_sheet(proven: Fitting, check: Check) -> None:
    eyes = Check.objects.create(slug="eyes", name="Looked over")
    look(proven, check, "failed")
    look(proven, eyes, "weak")
    (fitting,) = sheets_of([proven.vehicle])[proven.vehicle_id].fittings
    assert [(seen.check, seen.result) for seen in fitting.looks] == [
        ("pull", "failed"),
        ("eyes", "weak"),
    ]


def test_a_sheet_that_is_taken_in_brings_its_trouble_along(proven: Fitting, check: Check) -> None:
    look(proven, check, "failed")
    look(None, check, "weak", vehicle=proven.vehicle)
    document = sheet_of(proven.vehicle)
    document["vehicle"] |= {"plate": "COPY 1", "name": "copy"}
    document["fittings"][0]["serial"] = "T-copy"
    document["fittings"][0]["looks"][0]["check"] = "another"
    copy = load_sheet(document, actor=MARA, today=TODAY)
    found = {finding.title for finding in judge_vehicle(copy).judgement.findings}
    assert f"Transmitter failed on {WORDS} (Pull and hold)." in found
    assert f"The vehicle was weak on {WORDS} (Pull and hold)." in found
    assert Check.objects.get(slug="another").name == "Pull and hold"


def test_nobody_is_asked_to_prove_what_must_not_be_towed(proven: Fitting, check: Check) -> None:
    forbidden = {**procedure(), "verdict": "not_allowed", "steps": []}
    vehicle = proven.vehicle
    look(proven, check, "failed")
    changes.revise_procedure(content=forbidden, vehicle=vehicle, **BY)
    assert standing(vehicle) == "not_towed"
    assert not Reverification.objects.to_prove().exists()
    assert Verification.objects.get().stale_on == TODAY
    look(proven, check, "passed")
    changes.revise_procedure(content=procedure("F08"), vehicle=vehicle, **BY)
    assert standing(vehicle) == "good"


def test_what_a_person_told_waits_behind_a_ban(proven: Fitting) -> None:
    changes.report_outside_work(vehicle=proven.vehicle, told="New switch.", **BY)
    forbidden = {**procedure(), "verdict": "not_allowed", "steps": []}
    changes.revise_procedure(content=forbidden, vehicle=proven.vehicle, **BY)
    assert not Reverification.objects.to_prove().exists()
    changes.revise_procedure(content=procedure("F08"), vehicle=proven.vehicle, **BY)
    assert standing(proven.vehicle) == "stale"
    assert "New switch." in asked_of(proven.vehicle)
