"""What a change reaches: proofs go stale, the difference is told, and only where it matters."""

from unittest.mock import ANY

import pytest

from installs.domain.sheet import parse_sheet
from installs.models import ComponentKind, Fitting, Reverification
from installs.reads import sheet_document, sheets_of, with_looks
from shop import changes
from shop.people.models import Customer
from tests.factories.proving import (
    BY,
    FEED_MAP,
    MARA,
    asked_of,
    fed,
    fit,
    own,
    procedure,
    prove,
    standing,
)
from vehicles import services as vehicles
from vehicles.models import Event, ModelRange, Vehicle

pytestmark = pytest.mark.django_db


def test_a_part_that_was_fitted_is_to_be_proven_and_then_is(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    fitting = fit(transmitter, own(ines))
    assert standing(fitting.vehicle) == "never"
    assert asked_of(fitting.vehicle) == ["Nothing has been proven on this vehicle yet."]
    prove(fitting)
    assert standing(fitting.vehicle) == "good"
    assert asked_of(fitting.vehicle) == []


def test_a_new_revision_that_pulls_the_fuse_says_so_and_makes_the_proof_stale(
    proven: Fitting, crestline: ModelRange
) -> None:
    changes.revise_procedure(content=procedure("F08", "F21"), model_range=crestline, **BY)
    assert standing(proven.vehicle) == "stale"
    told = " ".join(asked_of(proven.vehicle))
    assert "F21 is now pulled" in told
    assert Reverification.objects.open().count() == 1


def test_a_second_change_joins_the_open_question_and_going_back_withdraws_it(
    proven: Fitting, crestline: ModelRange
) -> None:
    changes.revise_procedure(content=procedure("F08", "F21"), model_range=crestline, **BY)
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    told = " ".join(asked_of(proven.vehicle))
    assert "F12 is now pulled" in told
    assert "F21" not in told
    changes.revise_procedure(content=procedure("F08"), model_range=crestline, **BY)
    assert asked_of(proven.vehicle) == []
    assert standing(proven.vehicle) == "good"
    proof = proven.vehicle.verifications.get()
    assert (proof.stale_on, proof.stale_why) == (None, [])


def test_nothing_is_raised_where_nothing_that_matters_differs(
    proven: Fitting, crestline: ModelRange
) -> None:
    events = Event.objects.filter(verb="asked for proof").count()
    changes.revise_procedure(content=procedure("F08", page="214"), model_range=crestline, **BY)
    wider = {
        **FEED_MAP,
        "fuses": [*FEED_MAP["fuses"], {"id": "F34", "rating_a": 30, "feed": "unknown"}],
    }
    changes.revise_feed_map(content=wider, model_range=crestline, **BY)
    assert standing(proven.vehicle) == "good"
    assert Event.objects.filter(verb="asked for proof").count() == events


def test_a_corrected_map_reaches_each_vehicle_of_the_range_and_no_other(
    proven: Fitting, crestline: ModelRange, ines: Customer, transmitter: ComponentKind
) -> None:
    """The shop's own discovery, "that fuse hangs on the accessory terminal on this trim"."""
    corrected = own(ines, plate="OWN 1")
    changes.revise_feed_map(content=FEED_MAP, vehicle=corrected, **BY)
    by_hand = fit(transmitter, corrected, serial="T2")
    prove(by_hand)
    fuses = [{**fuse, "feed": "terminal:15R"} for fuse in FEED_MAP["fuses"]]
    changes.revise_feed_map(content={**FEED_MAP, "fuses": fuses}, model_range=crestline, **BY)
    assert standing(proven.vehicle) == "stale"
    assert standing(corrected) == "good"


def test_what_a_kind_needs_reaches_whoever_carries_one(
    proven: Fitting, transmitter: ComponentKind
) -> None:
    asks_more = [{**transmitter.ports[0], "demand": {"drive": "off", "tow": "on"}}]
    changes.change_kind(kind=transmitter, changes={"ports": asks_more}, version=1, **BY)
    assert standing(proven.vehicle) == "stale"
    assert Reverification.objects.open().get().cause == Reverification.Cause.KIND


def test_rewiring_is_told_in_words(proven: Fitting) -> None:
    changes.change_fitting(
        fitting=proven, changes={"ports": fed("fuse:F12")}, version=proven.version, **BY
    )
    told = " ".join(asked_of(proven.vehicle))
    assert "F12" in told
    assert "F21" in told


def test_a_customer_who_adds_a_vehicle_with_another_procedure_is_told_what_differs(
    proven: Fitting, ines: Customer
) -> None:
    later = vehicles.add_model_range(
        actor=MARA, make="Alder", model="Crestline", year_from=2015, year_to=2018
    )
    changes.revise_feed_map(content=FEED_MAP, model_range=later, **BY)
    changes.revise_procedure(content=procedure("F12", key="off"), model_range=later, **BY)
    added = own(ines, year=2016)
    told = " ".join(asked_of(added))
    assert "F12 is now pulled" in told
    assert "2012 Alder Crestline" in told
    found = Reverification.objects.open().get(vehicle=added)
    assert found.cause == Reverification.Cause.VEHICLE_ADDED


def test_a_customer_who_adds_the_same_vehicle_again_is_asked_nothing(
    proven: Fitting, ines: Customer
) -> None:
    assert asked_of(own(ines, plate="TWIN 2")) == []


def test_the_sheet_that_is_judged_is_the_sheet_that_is_written_out(
    proven: Fitting, ines: Customer, transmitter: ComponentKind
) -> None:
    """Judging reads shared documents once; the result is that of the document itself."""
    vehicle = Vehicle.objects.get(pk=proven.vehicle_id)
    revision = vehicle.model_range.feedmaprevision_set.current().get()
    document = sheet_document(
        vehicle,
        feed_map=revision.content,
        procedure=vehicle.model_range.procedurerevision_set.current().get().content,
        fittings=with_looks(vehicle.fittings.on_sheets().select_related("component__kind")),
    )
    assert sheets_of([vehicle])[vehicle.pk] == parse_sheet(document)
    assert parse_sheet(document).to_dict() == {**document, "kinds": ANY}
