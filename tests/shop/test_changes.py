"""What a change reaches: proofs go stale, the difference is told, and only where it matters."""

from datetime import date, timedelta
from typing import Any
from unittest.mock import ANY

import pytest
from django.core.exceptions import ValidationError

from installs.domain.measured import Measured
from installs.domain.sheet import parse_sheet
from installs.models import Component, ComponentKind, Fitting, Reverification, Standing
from installs.reads import sheet_document, sheets_of
from installs.services import parts
from installs.services.proof import judge_vehicle
from shop import changes
from shop.people import services as people
from shop.people.models import Customer
from shop.people.services import Reach
from vehicles import services as vehicles
from vehicles.models import Event, ModelRange, Vehicle
from vehicles.records import Actor

pytestmark = pytest.mark.django_db
MARA = Actor("Mara Voss", 1)
TODAY = date(2026, 11, 25)
BY = {"today": TODAY, "actor": MARA}
FEED_MAP: dict[str, Any] = {
    "terminals": [{"id": "30", "known": "measured"}, {"id": "15R", "known": "measured"}],
    "fuses": [
        {"id": "F08", "rating_a": 7.5, "feed": "terminal:15R", "known": "measured"},
        {"id": "F12", "rating_a": 15, "feed": "terminal:30", "known": "measured"},
        {"id": "F21", "rating_a": 15, "feed": "terminal:30", "known": "measured"},
    ],
}


def procedure(*pulled: str, page: str = "212", key: str = "acc") -> dict[str, Any]:
    source = {"kind": "document", "title": "Owner's manual", "edition": "2019", "page": page}
    steps: list[dict[str, Any]] = [{"no": 1, "action": "key", "value": key}]
    steps += [
        {"no": at, "action": "fuse_out", "target": fuse, "reverse": f"Put {fuse} back."}
        for at, fuse in enumerate(pulled, start=2)
    ]
    steps.append({"no": len(steps) + 1, "action": "lamp_switch", "value": "off"})
    return {"verdict": "allowed", "source": source, "steps": steps}


@pytest.fixture
def crestline() -> ModelRange:
    found = vehicles.add_model_range(
        actor=MARA, make="Alder", model="Crestline", year_from=2010, year_to=2014
    )
    changes.revise_feed_map(content=FEED_MAP, model_range=found, **BY)
    changes.revise_procedure(content=procedure("F08"), model_range=found, **BY)
    return found


@pytest.fixture
def ines() -> Customer:
    return people.add_customer(actor=MARA, reach=Reach(emails=["i@okafor.example"]), name="Ines")


@pytest.fixture
def transmitter() -> ComponentKind:
    return parts.add_kind(
        actor=MARA,
        slug="transmitter",
        name="Transmitter",
        ports=[{"name": "supply", "demand": {"drive": "any", "tow": "on"}, "peak_a": 1}],
    )


def own(customer: Customer, **fields: Any) -> Vehicle:
    told = {"kind": "towed", "make": "Alder", "model": "Crestline", "year": 2012, **fields}
    return changes.add_vehicle_for_customer(customer=customer, since=TODAY, **BY, **told)


def fit(
    kind: ComponentKind, vehicle: Vehicle, feed: str = "fuse:F21", serial: str = "T1"
) -> Fitting:
    part = parts.add_component(actor=MARA, kind=kind, serial=serial)
    return changes.fit_component(
        component=part, vehicle=vehicle, since=TODAY, ports=fed(feed), **BY
    )


def fed(feed: str) -> dict[str, Any]:
    return {"supply": {"feed": feed, "ground": "body", "own_fuse_a": 5, "known": "measured"}}


def readings(fitting: Fitting, volts: float = 12.4, minutes: float | None = 40) -> list[Measured]:
    return [Measured(f"c{fitting.component_id}", "supply", "tow", volts, minutes)]


def prove(fitting: Fitting) -> None:
    changes.sign_verification(
        vehicle=fitting.vehicle, measured=readings(fitting), proven_on=TODAY, **BY
    )


def standing(vehicle: Vehicle) -> str:
    return Standing.objects.get(vehicle=vehicle).proof


def asked_of(vehicle: Vehicle) -> list[str]:
    found = Reverification.objects.open().filter(vehicle=vehicle).first()
    return found.differences if found else []


@pytest.fixture
def proven(ines: Customer, crestline: ModelRange, transmitter: ComponentKind) -> Fitting:
    fitting = fit(transmitter, own(ines))
    prove(fitting)
    return fitting


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


def test_a_moved_part_keeps_its_history_and_drops_its_feeds_and_proof(
    proven: Fitting, ines: Customer
) -> None:
    other = own(ines, plate="NEW 1")
    moved = changes.move_component(
        fitting=proven, vehicle=other, on=TODAY, why="changed cars", **BY
    )
    assert (moved.component, moved.ports) == (proven.component, {})
    assert [f.vehicle for f in proven.component.fittings.order_by("id")] == [proven.vehicle, other]
    assert standing(other) == "never"
    assert standing(proven.vehicle) == "nothing_fitted"
    proven.refresh_from_db()
    assert (proven.until, proven.wiring_left_in) == (TODAY, True)


def test_a_part_is_in_one_place_at_a_time(proven: Fitting, ines: Customer) -> None:
    with pytest.raises(ValidationError, match="Move it from there"):
        changes.fit_component(component=proven.component, vehicle=own(ines), since=TODAY, **BY)


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


@pytest.mark.parametrize(
    ("volts", "minutes", "sentence"),
    [
        (12.4, 2, "too early"),
        (12.4, None, "how many minutes"),
        (0.3, 40, "at least 10.5 V"),
    ],
)
def test_a_reading_that_proves_nothing_is_refused_with_its_reason(
    ines: Customer,
    crestline: ModelRange,
    transmitter: ComponentKind,
    volts: float,
    minutes: float | None,
    sentence: str,
) -> None:
    fitting = fit(transmitter, own(ines))
    with pytest.raises(ValidationError, match=sentence):
        changes.sign_verification(
            vehicle=fitting.vehicle,
            measured=readings(fitting, volts, minutes),
            proven_on=TODAY,
            **BY,
        )
    assert standing(fitting.vehicle) == "never"


def test_an_unknown_feed_blocks_the_signature(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    fitting = fit(transmitter, own(ines), feed="unknown")
    with pytest.raises(ValidationError):
        prove(fitting)
    assert not fitting.vehicle.verifications.exists()


def test_work_done_elsewhere_makes_a_good_proof_doubtful_until_it_is_proven_again(
    proven: Fitting,
) -> None:
    changes.report_outside_work(vehicle=proven.vehicle, told="Brake switch replaced.", **BY)
    assert standing(proven.vehicle) == "stale"
    changes.settle(vehicle_ids=[proven.vehicle_id], cause=Reverification.Cause.NIGHTLY, **BY)
    assert asked_of(proven.vehicle)[0] == "Brake switch replaced."
    assert standing(proven.vehicle) == "stale"
    prove(proven)
    assert standing(proven.vehicle) == "good"


def test_a_part_that_is_held_back_cannot_be_fitted(
    ines: Customer, crestline: ModelRange, transmitter: ComponentKind
) -> None:
    held = parts.add_component(
        actor=MARA, kind=transmitter, serial="T9", state=Component.State.HELD
    )
    with pytest.raises(ValidationError, match="may not be fitted"):
        changes.fit_component(component=held, vehicle=own(ines), since=TODAY, **BY)


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
        fittings=vehicle.fittings.on_sheets().select_related("component__kind"),
    )
    assert sheets_of([vehicle])[vehicle.pk] == parse_sheet(document)
    assert parse_sheet(document).to_dict() == {**document, "kinds": ANY}


def test_a_unit_that_two_cars_share_is_set_up_and_proven_on_each(
    proven: Fitting, ines: Customer, transmitter: ComponentKind
) -> None:
    """Families swap one portable unit between two cars; trade reasoning, no report found."""
    changes.change_component(component=proven.component, changes={"shared": True}, version=1, **BY)
    proven = Fitting.objects.get(pk=proven.pk)
    other = own(ines, plate="TWO 2")
    here = changes.move_component(
        fitting=proven, vehicle=other, on=TODAY, why="their turn", ports=fed("fuse:F12"), **BY
    )
    assert (standing(proven.vehicle), standing(other)) == ("good", "never")
    prove(here)
    back = changes.move_component(
        fitting=here, vehicle=proven.vehicle, on=TODAY, why="back again", **BY
    )
    assert back.ports == fed("fuse:F21")
    assert (standing(proven.vehicle), standing(other)) == ("good", "good")
    assert not Reverification.objects.open().exists()
    asks_more = [{**transmitter.ports[0], "demand": {"drive": "off", "tow": "on"}}]
    changes.change_kind(kind=transmitter, changes={"ports": asks_more}, version=1, **BY)
    assert standing(other) == "stale", "also where the unit is away"


def test_a_shared_unit_that_goes_to_a_stranger_leaves_no_proof_behind(
    proven: Fitting, ines: Customer
) -> None:
    Component.objects.filter(pk=proven.component_id).update(shared=True)
    proven = Fitting.objects.get(pk=proven.pk)
    stranger = people.add_customer(actor=MARA, reach=Reach(), name="Teller")
    moved = changes.move_component(
        fitting=proven, vehicle=own(stranger, plate="FAR 1"), on=TODAY, why="sold", **BY
    )
    assert (moved.ports, standing(proven.vehicle)) == ({}, "nothing_fitted")


def test_a_part_taken_off_and_fitted_again_is_not_as_it_was_proven(
    proven: Fitting, ines: Customer
) -> None:
    away = changes.move_component(
        fitting=proven, vehicle=own(ines, plate="NEW 1"), on=TODAY, why="tried there", **BY
    )
    back = changes.move_component(
        fitting=away,
        vehicle=proven.vehicle,
        on=TODAY,
        why="back again",
        ports=fed("fuse:F21"),
        **BY,
    )
    assert standing(back.vehicle) == "stale"


def test_a_proof_is_signed_only_on_what_the_signer_saw(
    proven: Fitting, crestline: ModelRange
) -> None:
    seen = judge_vehicle(proven.vehicle).fingerprint
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    with pytest.raises(ValidationError, match="changed while this was measured"):
        changes.sign_verification(
            vehicle=proven.vehicle,
            measured=readings(proven),
            proven_on=TODAY,
            fingerprint=seen,
            **BY,
        )
    assert standing(proven.vehicle) == "stale"


@pytest.mark.parametrize(
    ("day", "sentence"),
    [(timedelta(days=1), "still to come"), (-timedelta(days=1), "measure after")],
)
def test_a_proof_has_a_day_that_can_be(proven: Fitting, day: timedelta, sentence: str) -> None:
    with pytest.raises(ValidationError, match=sentence):
        changes.sign_verification(
            vehicle=proven.vehicle, measured=readings(proven), proven_on=TODAY + day, **BY
        )


def test_an_older_proof_entered_late_does_not_go_before_the_newest(proven: Fitting) -> None:
    Fitting.objects.filter(pk=proven.pk).update(since=TODAY - timedelta(days=9))
    changes.sign_verification(
        vehicle=proven.vehicle,
        measured=readings(proven),
        proven_on=TODAY - timedelta(days=1),
        **BY,
    )
    assert standing(proven.vehicle) == "good"
    assert not Reverification.objects.open().exists()


def test_what_comes_on_top_is_asked_for_anew_so_that_it_is_told(
    proven: Fitting, crestline: ModelRange
) -> None:
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    first = Reverification.objects.open().get()
    changes.revise_procedure(content=procedure("F08", "F12", "F21"), model_range=crestline, **BY)
    second = Reverification.objects.open().get()
    assert second.pk != first.pk
    assert second.opened_on == first.opened_on
    changes.revise_procedure(content=procedure("F08", "F12"), model_range=crestline, **BY)
    assert Reverification.objects.open().get().pk == second.pk, "less is no news"


def test_every_report_of_work_elsewhere_is_kept_and_the_old_proofs_stay_as_they_were(
    proven: Fitting,
) -> None:
    for told in ("Brake switch replaced.", "New radio."):
        changes.report_outside_work(vehicle=proven.vehicle, told=told, **BY)
        changes.settle(vehicle_ids=[proven.vehicle_id], cause="nightly", **BY)
    assert asked_of(proven.vehicle)[:2] == ["Brake switch replaced.", "New radio."]
    prove(proven)
    old, new = proven.vehicle.verifications.order_by("id")
    assert (old.stale_on, new.stale_on) == (TODAY, None)


def test_a_part_is_not_on_two_cars_on_one_day(proven: Fitting, ines: Customer) -> None:
    other = own(ines, plate="NEW 1")
    changes.remove_component(fitting=proven, until=TODAY, why="came off", **BY)
    with pytest.raises(ValidationError, match="not here before that"):
        changes.fit_component(
            component=proven.component, vehicle=other, since=TODAY - timedelta(days=1), **BY
        )


def test_a_part_on_a_vehicle_does_not_become_another_kind(proven: Fitting, ines: Customer) -> None:
    other = parts.add_kind(actor=MARA, slug="tow-bar", name="Tow bar", ports=[])
    with pytest.raises(ValidationError, match="take it off there first"):
        changes.change_component(
            component=proven.component, changes={"kind": other}, version=1, **BY
        )
    assert standing(proven.vehicle) == "good"
