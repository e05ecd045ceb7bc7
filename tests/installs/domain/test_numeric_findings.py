"""What numbers find: once per cause, readings before reckoning, and a sentence for nonsense."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from installs.domain.findings import Code, Finding, Severity
from installs.domain.needs import judge
from installs.domain.numeric_findings import Volts, numeric_findings
from installs.domain.reckoned import Numbers, reckon
from installs.domain.sheet import Sheet, parse_sheet
from tests.installs.domain.test_network import DEMO, car
from vehicles.domain.inputs import InputError
from vehicles.domain.limit_set import START, Limits

THIN = {"wire": {"mm2": 0.5, "length_m": 9}}
TOW = ("UNIT", "supply", "tow")


def found(data: Sheet, measured: Volts | None = None, limits: Limits = START) -> list[Finding]:
    """The findings of the numbers of a sheet, with these readings, by these limits."""
    judgement = judge(data, share=limits.share)
    numbers = reckon(data, views=judgement.views, limits=limits)
    return list(numeric_findings(data, judgement, numbers, measured or {}))


def codes(findings: list[Finding]) -> set[Code]:
    return {finding.code for finding in findings}


def test_a_wire_too_long_and_thin_fails_with_the_limit_and_its_source() -> None:
    (low,) = [f for f in found(car(None, THIN)) if f.code is Code.VOLTS_TOO_LOW]
    assert low.blocking
    assert "at least 10.5 V wanted" in low.title
    assert "Most is lost in the wire to unit, supply" in low.why
    assert START["port_volts"].source_words in low.why
    thick = car(None, {"wire": {"mm2": 6, "length_m": 9}})
    assert Code.VOLTS_TOO_LOW not in codes(found(thick))


def test_a_reading_goes_before_the_reckoning_and_the_reckoning_is_told_beside_it() -> None:
    good = found(car(None, THIN), {TOW: 12.0})
    assert Code.VOLTS_TOO_LOW not in codes(good)
    (apart,) = [f for f in good if f.code is Code.READINGS_DISAGREE]
    assert not apart.blocking
    assert "12 V measured, but 8.2 V" in apart.title
    (low,) = [f for f in found(car(), {TOW: 9.4}) if f.code is Code.VOLTS_TOO_LOW]
    assert low.blocking
    assert "9.4 V measured" in low.title
    assert "Computed:" in low.why


def test_doubt_does_not_block_and_names_the_one_measurement() -> None:
    (close,) = found(car())
    assert (close.code, close.severity, close.blocking) == (
        Code.TOO_CLOSE, Severity.CAUTION, False,
    )  # fmt: skip
    assert [cure.title for cure in close.cures] == [
        "Measure the volts lost in the wire to unit, supply under load."
    ]
    assert found(car(), {TOW: 12.0}) == []


def test_an_owner_s_limit_decides() -> None:
    higher = START.with_value("port_volts", {"value": 12.9, "low": 12.9, "high": 12.9})
    assert Code.VOLTS_TOO_LOW in codes(found(car(), limits=higher))
    lower = START.with_value("port_volts", {"value": 6, "low": 6, "high": 6})
    assert found(car(), limits=lower) == []


def test_a_fuse_that_does_not_guard_its_wire_never_asks_for_a_bigger_fuse() -> None:
    data = car({"peak_a": 12}, {"wire": {"awg": 18, "length_m": 1}, "own_fuse_a": 15})
    grave = [f for f in found(data) if f.code in (Code.WIRE_TOO_SMALL, Code.FUSE_TOO_LARGE)]
    assert grave
    assert all(finding.blocking for finding in grave)
    said = " ".join(f"{f.title} {f.why}" for f in grave).lower()
    assert "wire too small" in said
    assert "bigger fuse" not in said
    wide = car({"peak_a": 12}, {"wire": {"mm2": 4, "length_m": 1}, "own_fuse_a": 20})
    assert not codes(found(wide)) & {Code.WIRE_TOO_SMALL, Code.FUSE_TOO_LARGE}


@pytest.mark.parametrize("file", sorted(DEMO.glob("*.json")), ids=lambda file: file.stem)
def test_many_open_ports_are_told_once(file: Path) -> None:
    told = [finding.code for finding in found(parse_sheet(json.loads(file.read_text("utf-8"))))]
    for code in (Code.TOO_CLOSE, Code.VOLTS_NOT_KNOWN, Code.NUMBERS_NOT_KNOWN):
        assert told.count(code) <= 1


def test_figures_that_cannot_be_become_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object, **kwargs: object) -> None:
        raise InputError("length_m", "must be above 0")

    monkeypatch.setattr("installs.domain.reckoned.numbers_of", refuse)
    data = car()
    assert reckon(data).states == {}
    (told,) = found(data)
    assert (told.code, told.blocking) == (Code.NUMBERS_NOT_KNOWN, False)
    assert "must be above 0" in told.why


def test_a_fault_hides_no_answer() -> None:
    judgement = judge(car(None, THIN))
    told = numeric_findings(car(None, THIN), judgement, Numbers(fault="Nothing fits."), {})
    assert codes(list(told)) == {Code.NUMBERS_NOT_KNOWN}
