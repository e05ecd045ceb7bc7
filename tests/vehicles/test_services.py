"""Changing vehicles: one guarded write, one line in the log, sentences for what is refused."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from vehicles import services
from vehicles.models import Event, FeedMapRevision, ModelRange, ProcedureRevision, Vehicle
from vehicles.records import Actor, Clash

pytestmark = pytest.mark.django_db
MARA = Actor("Mara Voss", 1)
SOURCE = {"kind": "document", "title": "Owner's manual", "edition": "2019", "page": "212"}
FUSES = {
    "terminals": [{"id": "30"}, {"id": "15R"}],
    "fuses": [
        {"id": "F08", "rating_a": 7.5, "feed": "terminal:15R", "known": "measured"},
        {"id": "F21", "rating_a": 15, "feed": "terminal:30", "known": "measured"},
    ],
}


def procedure(*fuses: str, **limits: object) -> dict:
    steps = [{"no": 1, "action": "key", "value": "acc"}]
    steps += [
        {"no": at, "action": "fuse_out", "target": fuse, "reverse": f"Put {fuse} back."}
        for at, fuse in enumerate(fuses, start=2)
    ]
    return {"verdict": "allowed", "source": SOURCE, "steps": steps, "limits": limits}


def towed(**fields: object) -> Vehicle:
    told = {"kind": "towed", "make": "Alder", "model": "Crestline", "year": 2014, **fields}
    return services.add_vehicle(actor=MARA, **told)


def model_range(**fields: object) -> ModelRange:
    told = {"make": "Alder", "model": "Crestline", "year_from": 2010, "year_to": 2014, **fields}
    return services.add_model_range(actor=MARA, **told)


def test_a_vehicle_is_tied_to_the_one_range_that_fits() -> None:
    four = model_range(engine="4-cyl")
    model_range(engine="6-cyl")
    assert towed(engine="4-CYL").model_range == four
    assert towed(engine="").model_range is None, "two could fit: nobody may guess"


@pytest.mark.parametrize(
    ("year", "fits"), [(2010, True), (2014, True), (2015, False), (None, False)]
)
def test_the_years_of_a_range_are_inclusive_and_a_blank_year_asks(
    year: int | None, fits: bool
) -> None:
    only = model_range()
    assert towed(year=year).model_range == (only if fits else None)


def test_another_engine_looks_the_range_up_anew() -> None:
    four, six = model_range(engine="4-cyl"), model_range(engine="6-cyl")
    car = towed(engine="4-cyl")
    assert car.model_range == four
    car = services.change_vehicle(
        vehicle=car, changes={"engine": "6-cyl"}, version=1, actor=MARA, why="badge read wrong"
    )
    assert (car.model_range, car.version) == (six, 2)
    event = Event.objects.first()
    assert (event.before, event.after["engine"]) == (
        {"engine": "4-cyl", "model_range": {"id": four.pk, "is": str(four)}},
        "6-cyl",
    )
    assert event.why == "badge read wrong"


def test_two_people_with_one_vehicle_open_do_not_overwrite_each_other() -> None:
    car = towed()
    services.change_vehicle(vehicle=car, changes={"plate": "QZ 4471"}, version=1, actor=MARA)
    with pytest.raises(Clash) as clash:
        services.change_vehicle(vehicle=car, changes={"plate": "XX 1"}, version=1, actor=MARA)
    assert clash.value.current.plate == "QZ 4471"


def test_saving_what_is_there_already_writes_nothing() -> None:
    car = towed(plate="QZ 4471")
    before = Event.objects.count()
    same = services.change_vehicle(vehicle=car, changes={"plate": "QZ 4471"}, version=1, actor=MARA)
    assert (same.version, Event.objects.count()) == (1, before)


def test_the_search_text_follows_a_change_of_plate() -> None:
    car = towed(plate="LOS-7353")
    assert "los7353" in car.lookup
    car = services.change_vehicle(vehicle=car, changes={"plate": "B NO 1"}, version=1, actor=MARA)
    assert "bno1" in car.lookup
    assert "los7353" not in car.lookup


def test_coach_fields_are_refused_on_a_towed_vehicle() -> None:
    with pytest.raises(ValidationError):
        towed(coach_serial="C-100")
    assert not Vehicle.objects.exists()


@pytest.mark.parametrize(
    "change", [lambda: Event.objects.update(actor="nobody"), lambda: Event.objects.all().delete()]
)
def test_the_log_cannot_be_changed_even_by_the_database(change: Callable[[], object]) -> None:
    towed()
    with transaction.atomic(), pytest.raises(DatabaseError, match="append-only"):
        _in_savepoint(change)
    assert Event.objects.get().actor == "Mara Voss"


def _in_savepoint(change: Callable[[], object]) -> None:
    with transaction.atomic():
        change()


def test_a_step_that_pulls_a_fuse_the_map_lacks_is_refused_with_the_fuses_there_are() -> None:
    only = model_range()
    services.revise_feed_map(content=FUSES, model_range=only, actor=MARA)
    with pytest.raises(ValidationError) as refused:
        services.revise_procedure(content=procedure("F32"), model_range=only, actor=MARA)
    sentence = " ".join(refused.value.messages)
    assert "F32" in sentence
    assert "F08, F21" in sentence
    assert not ProcedureRevision.objects.exists()


def test_a_revision_is_added_and_the_old_one_stays_as_it_was() -> None:
    only = model_range()
    services.revise_feed_map(content=FUSES, model_range=only, actor=MARA)
    first = services.revise_procedure(content=procedure("F08"), model_range=only, actor=MARA)
    second = services.revise_procedure(content=procedure("F21"), model_range=only, actor=MARA)
    first.refresh_from_db()
    assert [(r.number, r.is_current) for r in (first, second)] == [(1, False), (2, True)]
    assert first.content["steps"][1]["target"] == "F08"
    again = services.revise_procedure(content=procedure("F21"), model_range=only, actor=MARA)
    assert again == second, "the same content is no new revision"


def test_a_vehicles_own_map_goes_before_its_ranges_and_reaches_no_other_vehicle() -> None:
    only = model_range()
    corrected, other = towed(plate="A 1"), towed(plate="B 2")
    general = services.revise_feed_map(content=FUSES, model_range=only, actor=MARA)
    own = services.revise_feed_map(
        content={**FUSES, "fuses": FUSES["fuses"][:1]}, vehicle=corrected, actor=MARA
    )
    assert FeedMapRevision.objects.in_force_for(corrected) == own
    assert FeedMapRevision.objects.in_force_for(other) == general
    assert FeedMapRevision.objects.current().count() == 2


def test_two_revisions_cannot_both_be_current() -> None:
    only = model_range()
    services.revise_feed_map(content=FUSES, model_range=only, actor=MARA)
    with pytest.raises(DatabaseError), transaction.atomic():
        FeedMapRevision.objects.create(model_range=only, number=2, content={}, written_by="x")


def test_a_lower_odometer_is_held_until_a_reason_is_given() -> None:
    car = towed()
    reading = {"vehicle": car, "what": "odometer_km", "actor": MARA}
    services.add_reading(**reading, value=Decimal(138000), typed="138000 km", on=date(2025, 1, 1))
    lower = {**reading, "value": Decimal(88000), "typed": "88000 km", "on": date(2026, 1, 1)}
    with pytest.raises(ValidationError, match="138000 km"):
        services.add_reading(**lower)
    assert services.add_reading(**lower, note="cluster replaced").typed == "88000 km"


def test_miles_towed_are_a_log_of_their_own() -> None:
    """Odometers often stand still while towed (a national agency's letters on odometers say that
    such miles count as travelled all the same), so neither log is worked out from the other."""
    car = towed()
    for what, value in (("odometer_km", 40000), ("towed_km", 14484), ("odometer_km", 40200)):
        services.add_reading(
            vehicle=car,
            what=what,
            value=Decimal(value),
            typed=str(value),
            on=date(2026, 1, 1),
            actor=MARA,
        )
    assert car.readings.filter(what="towed_km").get().value == 14484
    assert [r.value for r in car.readings.filter(what="odometer_km")] == [40200, 40000]


def test_a_pair_is_joined_once_and_parted_once() -> None:
    coach = services.add_vehicle(actor=MARA, kind="motorhome", make="Tamarack", model="34")
    car = towed()
    pair = services.start_combination(
        motorhome=coach, towed=car, since=date(2026, 1, 1), actor=MARA
    )
    with pytest.raises(ValidationError, match="already tows"):
        services.start_combination(motorhome=coach, towed=car, since=date(2026, 2, 1), actor=MARA)
    with pytest.raises(ValidationError, match="not a motorhome"):
        services.start_combination(motorhome=car, towed=coach, since=date(2026, 2, 1), actor=MARA)
    with pytest.raises(ValidationError, match="cannot end before"):
        services.end_combination(combination=pair, until=date(2025, 1, 1), actor=MARA)
    ended = services.end_combination(combination=pair, until=date(2026, 3, 1), actor=MARA)
    assert ended.until == date(2026, 3, 1)
