"""Vehicle sheets into the records and out again: everything of one, or nothing."""

import copy
from typing import Any

import pytest

from installs.domain.sheet import SheetFaults, parse_sheet
from installs.models import Component, ComponentKind, Fitting, Standing
from shop.sheets import load_sheet, sheet_of
from tests.factories.desk import ACTOR, TODAY, a_crestline, crestline, okafors
from vehicles.models import Event, FeedMapRevision, ModelRange, ProcedureRevision, Vehicle

pytestmark = pytest.mark.django_db


def load(document: Any, **more: Any) -> Vehicle:
    return load_sheet(document, actor=ACTOR, today=TODAY, **more)


def faults_of(document: Any) -> dict[str, str]:
    """The faults by place; and nothing at all may have been written."""
    before = rows()
    with pytest.raises(SheetFaults) as caught:
        load(document)
    assert rows() == before
    return {fault.place: fault.sentence for fault in caught.value.faults}


def rows() -> tuple[int, ...]:
    models = (Vehicle, ModelRange, ComponentKind, Component, Fitting, Event, FeedMapRevision)
    return tuple(model.objects.count() for model in models)


def test_a_sheet_makes_range_map_procedure_kinds_parts_and_owner() -> None:
    vehicle = a_crestline(customer=okafors())
    assert str(vehicle.model_range) == "2017-2020 Alder Crestline automatic"
    assert FeedMapRevision.objects.get().model_range == vehicle.model_range
    assert ProcedureRevision.objects.get().verdict == "allowed"
    assert ComponentKind.objects.count() == 5
    assert vehicle.fittings.current().count() == 4
    assert str(vehicle.ownerships.get().customer) == "Ines and Paul Okafor"
    assert Standing.objects.get(vehicle=vehicle).blocking > 0


def test_a_part_keeps_its_date_code_and_the_day_it_was_fitted() -> None:
    fitting = a_crestline().fittings.get(component__kind__slug="breakaway_switch")
    assert fitting.since.isoformat() == "2025-12-14"
    assert fitting.component.date_code.isoformat() == "2023-04-01"
    assert fitting.component.date_code_typed == "2023-04"


def test_a_second_vehicle_of_the_range_uses_what_is_there() -> None:
    first, second = a_crestline(1), a_crestline(2)
    assert first.model_range == second.model_range
    assert FeedMapRevision.objects.count() == 1
    assert ProcedureRevision.objects.count() == 1


def test_a_correction_stays_with_its_vehicle() -> None:
    """A feed map that differs from the range's is this vehicle's own and touches no other."""
    first = a_crestline(1)
    corrected = crestline(2)
    corrected["feed_map"]["fuses"][3]["rating_a"] = 10
    second = load(corrected)
    own = FeedMapRevision.objects.in_force_for(second)
    assert own.vehicle == second
    assert own.content["fuses"][3]["rating_a"] == 10
    assert FeedMapRevision.objects.in_force_for(first).content["fuses"][3]["rating_a"] == 7.5


def test_earlier_procedures_become_earlier_revisions() -> None:
    earlier = copy.deepcopy(crestline()["procedure"])
    earlier["steps"][4] |= {"target": "F99", "reverse": "Put F99 back"}
    vehicle = a_crestline(earlier_procedures=[earlier])
    numbers = ProcedureRevision.objects.order_by("number").values_list("number", "is_current")
    assert list(numbers) == [(1, False), (2, True)]
    assert ProcedureRevision.objects.in_force_for(vehicle).number == 2


def test_out_and_in_again_gives_the_same_sheet() -> None:
    """One shop's export, taken in by another shop, judges and exports the same."""
    document = crestline()
    document["earlier_procedures"] = [{**document["procedure"], "note": "first edition"}]
    out = sheet_of(load(document))
    assert parse_sheet(out).to_dict() == out | {"kinds": parse_sheet(out).to_dict()["kinds"]}
    for model in (Fitting, Component, Standing):
        model.objects.all().delete()
    out["vehicle"]["vin"] = "ZPA00002XK7033182"
    again = sheet_of(load(out))
    for part in ("range", "feed_map", "procedure", "earlier_procedures"):
        assert again[part] == out[part]
    kept = ("serial", "kind", "ports", "mounted", "about")
    assert [[f.get(k) for k in kept] for f in again["fittings"]] == [
        [f.get(k) for k in kept] for f in out["fittings"]
    ]
    assert again["vehicle"] == out["vehicle"]


def test_every_fault_is_named_with_its_place() -> None:
    document = crestline()
    del document["vehicle"]["make"]
    document["vehicle"]["gearbox"] = "wobbly"
    document["vehicle"]["weights"] = {"kerb_kg": 1500}
    document["fittings"][3]["date_code"] = "2031-01"
    document["fittings"][0]["about"] = {"since": "soon"}
    faults = faults_of(document)
    assert faults["/vehicle/make"].startswith("“make” is missing")
    assert faults["/vehicle/gearbox"].startswith("“wobbly” is not one of: automatic")
    assert faults["/vehicle/weights/kerb_kg"].endswith("gvwr_kg, weight_kg.")
    assert faults["/fittings/3/date_code"] == "“2031-01” lies in the future; read the mark again."
    assert faults["/fittings/0/about/since"] == "“soon” is not a date such as 2026-03-14."


def test_a_vin_that_cannot_be_one_or_is_known_is_refused() -> None:
    a_crestline()
    assert faults_of(crestline())["/vehicle/vin"] == (
        "This VIN is in the records already: 2019 Alder Crestline."
    )
    wrong = crestline(2)
    wrong["vehicle"]["vin"] = "ZPAO0002XK7033182"
    assert "the letter O is not used" in faults_of(wrong)["/vehicle/vin"]


@pytest.mark.parametrize("year", [2016, 2021, None])
def test_a_vehicle_outside_the_years_of_the_range_is_refused(year: int | None) -> None:
    document = crestline()
    document["vehicle"]["year"] = year
    assert "The range covers 2017 to 2020" in faults_of(document)["/range"]


@pytest.mark.parametrize("year", [2017, 2020])
def test_the_first_and_the_last_year_belong_to_the_range(year: int) -> None:
    document = crestline()
    document["vehicle"]["year"] = year
    assert load(document).model_range is not None


def test_a_range_of_another_gearbox_is_refused() -> None:
    document = crestline()
    document["vehicle"]["gearbox"] = "manual"
    assert faults_of(document)["/range/gearbox"] == (
        "The range is for “automatic”, the vehicle says “manual”."
    )


def test_a_kind_with_other_needs_under_a_known_code_is_refused() -> None:
    a_crestline()
    other = crestline(2)
    other["kinds"] = copy.deepcopy(other["kinds"])
    other["kinds"]["transmitter"]["ports"][0]["demand"] = {"tow": "off"}
    assert "with other needs" in faults_of(other)["/kinds/transmitter"]


def test_a_part_that_sits_elsewhere_is_not_taken_from_there() -> None:
    a_crestline()
    other = crestline(2)
    other["fittings"][0]["serial"] = "PB-20417"
    assert faults_of(other)["/fittings/0/serial"] == (
        "Brake unit PB-20417 is fitted to 2019 Alder Crestline. Move it from there."
    )


def test_a_part_on_the_shelf_is_used() -> None:
    a_crestline(fittings=[])
    kind = ComponentKind.objects.get(slug="brake_unit")
    shelf = Component.objects.create(kind=kind, serial="PB-20418")
    load(crestline(2))
    shelf.refresh_from_db()
    assert shelf.state == Component.State.FITTED


@pytest.mark.parametrize("document", [None, [], "sheet", {}, {"pullpin_sheet": 2}])
def test_what_is_no_sheet_is_refused(document: Any) -> None:
    assert faults_of(document)
