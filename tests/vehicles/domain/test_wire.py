"""Wire: what is refused, what is unknown, and that more copper never does worse."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.bands import Band, Unknown
from vehicles.domain.inputs import InputError
from vehicles.domain.wire import (
    LARGEST_GAUGE,
    SMALLEST_GAUGE,
    Standard,
    ampacity_a,
    area_mm2,
    awg_area_mm2,
    drop_band,
    drop_v,
    gauge_number,
    gauge_words,
    needed_cmil,
    sae_area_mm2,
    thinnest,
    wire_ohms,
)

gauges = st.integers(LARGEST_GAUGE, SMALLEST_GAUGE)


@pytest.mark.parametrize("text", ["14.5", "41", "5/0", "-2", "00000", "14/0", "", "a", "2/1", "١٢"])
def test_a_gauge_that_does_not_exist_is_named(text: str) -> None:
    with pytest.raises(InputError, match=re.escape(f"there is no gauge “{text}”")) as caught:
        gauge_number(text)
    assert caught.value.field == "gauge"


@given(gauges)
def test_gauges_are_read_back_as_they_are_written(gauge: int) -> None:
    assert gauge_number(gauge_words(gauge).removesuffix(" ga")) == gauge


@given(gauges)
def test_a_thicker_gauge_has_more_copper_and_strands_have_less_than_solid(gauge: int) -> None:
    if gauge > LARGEST_GAUGE:
        assert awg_area_mm2(gauge - 1) > awg_area_mm2(gauge)
        assert sae_area_mm2(gauge - 1) > sae_area_mm2(gauge)
    assert sae_area_mm2(gauge) < awg_area_mm2(gauge)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: wire_ohms(2.0, 0), "wire length"),
        (lambda: wire_ohms(2.0, -3), "wire length"),
        (lambda: wire_ohms(0, 3), "cross-section"),
        (lambda: wire_ohms(math.nan, 3), "cross-section"),
        (lambda: wire_ohms(2.0, 3, at_c=-300), "wire temperature"),
        (lambda: wire_ohms(2.0, 3, at_c=-270), "wire temperature"),
        (lambda: wire_ohms(2.0, "three"), "wire length"),
        (lambda: drop_v(-1, 2.0, out_m=3, back_m=3), "current"),
        (lambda: drop_v(1, 2.0, out_m=3, back_m=-3), "wire length back"),
        (lambda: drop_v(1, 2.0, out_m=3, back_m=0), "way back"),
        (lambda: needed_cmil(1, 0, 1), "length"),
        (lambda: awg_area_mm2(41), "gauge"),
        (lambda: area_mm2(Standard.AWG), "gauge"),
        (lambda: area_mm2(Standard.METRIC, gauge=14), "cross-section"),
        (lambda: ampacity_a(Standard.SAE), "gauge"),
        (lambda: ampacity_a(Standard.SAE, gauge=14, table={14: 0}), "ampacity of 14 ga wire"),
        (lambda: drop_band(Band(1, -1, 2), 1), "current"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
    assert caught.value.reason in str(caught.value)
    assert str(caught.value).endswith(".")


def test_a_size_the_owners_table_does_not_list_is_unknown() -> None:
    found = ampacity_a(Standard.AWG, gauge=13)
    assert isinstance(found, Unknown)
    assert found.words == "unknown: enter what 13 ga wire may carry, from its maker's table"
    assert isinstance(ampacity_a(Standard.METRIC, mm2=0.5), Unknown)


def test_metric_wire_takes_the_gauge_that_has_no_more_copper() -> None:
    assert ampacity_a(Standard.METRIC, mm2=2.5) == ampacity_a(Standard.AWG, gauge=14)
    assert ampacity_a(Standard.METRIC, mm2=2.0) == ampacity_a(Standard.AWG, gauge=16)


def test_the_thinnest_wire_must_also_carry_the_amps() -> None:
    run = {"out_m": 0.3, "back_m": 0.3, "supply_v": 12, "share": 0.03}
    assert thinnest(14, **run).size == "20 ga"  # a foot of it hardly loses anything
    assert thinnest(14, table={16: 10, 14: 15}, **run).size == "14 ga"


def test_no_listed_size_is_said_so() -> None:
    found = thinnest(200, out_m=30, back_m=30, supply_v=12, share=0.03)
    assert found.size == ""
    assert found.mm2 is None
    assert "shorten the run" in found.words


@given(
    amps=st.floats(0.1, 60),
    out=st.floats(0.2, 20),
    ohm=st.floats(0.001, 0.2),
    share=st.floats(0.01, 0.3),
    standard=st.sampled_from(Standard),
)
def test_the_thinnest_wire_keeps_its_promise(amps, out, ohm, share, standard) -> None:
    found = thinnest(
        amps, out_m=out, back_m=0, return_ohm=ohm, supply_v=12, share=share, standard=standard
    )
    if found.mm2 is None:
        return
    lost = drop_v(amps, found.mm2, out_m=out, back_m=0, return_ohm=ohm)
    assert lost == pytest.approx(found.drop_v)
    assert lost <= 12 * share * (1 + 1e-9)


@given(st.floats(0.1, 50), st.floats(-40, 120), st.floats(0.1, 100))
def test_resistance_rises_with_length_and_warmth_and_falls_with_copper(mm2, at_c, length) -> None:
    here = wire_ohms(mm2, length, at_c=at_c)
    assert wire_ohms(mm2, 2 * length, at_c=at_c) == pytest.approx(2 * here)
    assert wire_ohms(mm2, length, at_c=at_c + 10) > here > wire_ohms(mm2 * 1.1, length, at_c=at_c)


def test_a_band_of_amps_over_a_band_of_ohms() -> None:
    lost = drop_band(Band(10, 9, 12), Band(0.02, 0.01, 0.05))
    assert (lost.low, lost.value, lost.high) == pytest.approx((0.09, 0.2, 0.6))
