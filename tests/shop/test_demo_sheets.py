"""The demo's sheets, judged without a database: valid, invented, and each told trouble in them."""

import json
import re
from datetime import date
from typing import Any

import pytest

from installs.domain.findings import Code
from installs.domain.needs import Judgement, judge
from installs.domain.sheet import parse_sheet
from shop.demo.documents import SHEETS, bulletin_procedure, catalogue, document_of, sheet_names
from shop.demo.fleet import TOWED, Towed
from shop.demo.people import PEOPLE
from shop.demo.story import TROUBLES, Trouble
from vehicles.domain.procedure import Procedure
from vehicles.domain.vin import check_vin

TODAY = date(2026, 6, 15)
CARS = {car.key: car for car in TOWED}


def read(name: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((SHEETS / f"{name}.json").read_text(encoding="utf-8"))
    return document


def codes(judgement: Judgement) -> set[Code]:
    return {finding.code for finding in judgement.findings}


@pytest.mark.parametrize("name", sheet_names())
def test_each_sheet_is_valid_and_survives_a_round_trip(name: str) -> None:
    sheet = parse_sheet(read(name))
    assert parse_sheet(sheet.to_dict()) == sheet


@pytest.mark.parametrize("name", sheet_names())
def test_the_kinds_on_a_sheet_are_those_of_the_catalogue(name: str) -> None:
    for code, kind in read(name)["kinds"].items():
        assert kind == catalogue()[code]


@pytest.mark.parametrize("car", TOWED, ids=lambda car: car.key)
def test_each_car_makes_a_valid_sheet_of_its_own_range(car: Towed) -> None:
    sheet = parse_sheet(document_of(car, today=TODAY))
    assert sheet.range["year_from"] <= sheet.vehicle["year"] <= sheet.range["year_to"]
    assert check_vin(sheet.vehicle["vin"], model_year=sheet.vehicle["year"], light=True).notes == ()


def test_no_vin_plate_or_serial_occurs_twice() -> None:
    seen: list[str] = []
    for car in TOWED:
        document = document_of(car, today=TODAY)
        seen += [document["vehicle"]["vin"], document["vehicle"]["plate"]]
        seen += [item["serial"] for item in document["fittings"] if "serial" in item]
    assert len(seen) == len(set(seen))


# What becomes of the others is told by the days after: see test_demo_loaded.py.
LATER = {"swapped_old", "quiet_04", "quiet_12"}
ON_THE_SHEET = [
    t
    for t in TROUBLES
    if not CARS[t.key].bare and CARS[t.key].sheet != "teasel" and t.key not in LATER
]


@pytest.mark.parametrize("trouble", ON_THE_SHEET, ids=lambda trouble: trouble.key)
def test_the_sheet_shows_the_trouble_that_is_told(trouble: Trouble) -> None:
    judgement = judge(parse_sheet(document_of(CARS[trouble.key], today=TODAY)))
    assert codes(judgement) == trouble.codes


def test_the_outlet_dies_with_the_accessory_fuse_and_lives_on_the_added_kit() -> None:
    dead = judge(parse_sheet(read("vireo_outlet_dead")))
    (finding,) = dead.of("brake")
    assert finding.states == ("tow", "breakaway")
    assert "F08 is out (step 5)" in finding.why
    assert "Add: Separate outlet kit" in [cure.title for cure in finding.cures]
    mended = judge(parse_sheet(read("vireo_outlet_kit")))
    assert mended.port("brake", "supply").met("tow")
    assert not mended.blocked


def test_the_pair_for_the_newcomer_is_one_range_with_one_procedure() -> None:
    dead, kit = read("vireo_outlet_dead"), read("vireo_outlet_kit")
    assert (dead["range"], dead["procedure"]) == (kit["range"], kit["procedure"])


def test_the_disconnect_takes_the_ground_away_and_the_post_gives_it_back() -> None:
    cures = judge(parse_sheet(read("fenland_negative_leg"))).of("brake")[0].cures
    assert cures[0].ground == "battery_negative_post"
    assert not judge(parse_sheet(read("fenland"))).blocked


def test_steering_assist_is_demanded_dead_on_one_and_alive_on_another() -> None:
    merle, skerry = judge(parse_sheet(read("merle"))), judge(parse_sheet(read("skerry")))
    for judgement, demand in ((merle, "off"), (skerry, "on")):
        steering = judgement.port("load:steering", "")
        assert steering.demands["tow"] == demand
        assert steering.met("tow")


def test_the_bulletin_pulls_another_fuse_and_wants_the_charge_line() -> None:
    before = parse_sheet(document_of(CARS["revised"], today=TODAY)).procedure
    after = Procedure.from_dict(bulletin_procedure(CARS["revised"]))
    pulled = [[s.target for s in p.steps if s.action == "fuse_out"] for p in (before, after)]
    assert pulled == [["F08"], ["F21"]]
    assert "charge_connect" not in [step.action for step in before.steps]
    assert "charge_connect" in [step.action for step in after.steps]
    assert after.source.kind == "bulletin"


def test_the_feed_maps_have_12_to_24_fuses_each_at_a_place_of_its_own() -> None:
    for name in sheet_names():
        fuses = read(name)["feed_map"]["fuses"]
        places = {(fuse["box"], fuse["row"], fuse["col"]) for fuse in fuses}
        assert 12 <= len(fuses) <= 24, name
        assert len(places) == len(fuses), name


def test_everything_is_invented() -> None:
    for person in PEOPLE:
        assert all(address.lower().endswith(".example") for address in person.emails)
        for phone in person.phones:
            assert re.search(r"55501\d\d", re.sub(r"\D", "", phone)), phone
    for name in sheet_names():
        assert read(name)["vehicle"]["vin"].startswith("0")  # assigned to no country


def test_names_of_many_kinds_are_there() -> None:
    names = [person.name for person in PEOPLE]
    assert len(names) == 60
    assert any(" " not in name for name in names)
    assert any(name.isupper() for name in names)
    assert any(not name.isascii() for name in names)
    assert any(not person.emails for person in PEOPLE)
    assert len({person.language for person in PEOPLE}) >= 4
