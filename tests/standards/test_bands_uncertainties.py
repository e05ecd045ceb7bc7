"""Bands against the `uncertainties` library, and the units at the door against pint.

The two do not mean the same: `uncertainties` carries standard deviations of independent
errors (they add up in squares), a band carries bounds (they add up as they are). What they
share is how much each input moves the result. So for small errors the half width of a band
must equal the plain sum of that library's error components, and can never be narrower
than its combined deviation.
"""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from tests.factories.networks import outlet_circuit
from vehicles.domain.bands import give_or_take
from vehicles.domain.battery import charge_percent, hours_band
from vehicles.domain.circuit import Load, Network, Resistor, Source
from vehicles.domain.doubt import bounds
from vehicles.domain.inputs import figure
from vehicles.domain.units import Kind, parse

values = st.floats(0.5, 50)
FORMULAS = {
    "drop": lambda amps, ohms, volts: volts - amps * ohms,
    "share": lambda amps, ohms, volts: amps * ohms / volts,
    "current": lambda amps, ohms, volts: volts / (ohms + 1.2) + amps,
    "sum": lambda amps, ohms, volts: amps + 2 * ohms - 3 * volts,
}


@pytest.mark.parametrize("name", FORMULAS)
@given(inputs=st.tuples(values, values, values), errors=st.tuples(*[st.floats(1e-6, 1e-4)] * 3))
def test_a_small_band_is_the_plain_sum_of_the_error_components(name, inputs, errors) -> None:
    formula = FORMULAS[name]
    ours = formula(*[give_or_take(x, x * e) for x, e in zip(inputs, errors, strict=True)])
    theirs = formula(*[ufloat(x, x * e) for x, e in zip(inputs, errors, strict=True)])
    assert ours.value == pytest.approx(theirs.nominal_value)
    # A quantity that occurs twice in a formula would be counted twice; none does here.
    plain = sum(theirs.error_components().values())
    slack = 1e-3 * plain + 1e-12 * abs(ours.value)
    assert ours.width / 2 == pytest.approx(plain, abs=slack)
    assert ours.width / 2 >= theirs.std_dev - slack


def test_a_reading_of_12_45_volts_give_or_take_50_millivolts() -> None:
    # 75 % ± 6 %, from the first published table of rested voltages.
    read = ufloat(12.45, 0.05)
    above, below = 25 / (12.65 - 12.45), 25 / (12.45 - 12.24)
    found = charge_percent(12.45, chemistry="flooded", hours_rested=24, meter_share=0.05 / 12.45)
    assert found.value == pytest.approx(75)
    assert found.high - 75 == pytest.approx((75 + above * (read - 12.45)).std_dev)
    assert 75 - found.low == pytest.approx((75 + below * (read - 12.45)).std_dev)
    assert round((found.high - found.low) / 2) == 6


@given(amps=st.floats(6, 30), ah=st.floats(20, 100), error=st.floats(1e-6, 1e-3))
def test_peukert_hours_over_a_doubtful_current_and_capacity(amps, ah, error) -> None:
    ours = hours_band(
        give_or_take(amps, amps * error), ah=give_or_take(ah, ah * error), exponent=1.2
    )
    current, capacity = ufloat(amps, amps * error), ufloat(ah, ah * error)
    theirs = 20 * umath.pow(capacity / (current * 20), 1.2)
    if ah / (amps * 20) > 0.99:
        return  # at the rated current the law has its corner
    assert ours.value == pytest.approx(theirs.nominal_value)
    assert ours.width / 2 == pytest.approx(sum(theirs.error_components().values()), rel=0.01)


@given(wire=st.floats(0.02, 0.3), ohms=st.floats(1, 20), error=st.floats(1e-5, 1e-3))
def test_the_volts_of_a_circuit_over_doubtful_resistances(wire, ohms, error) -> None:
    network = outlet_circuit(wire=wire, amps=None, ohms=ohms)

    def doubtful(value):
        return give_or_take(value.value, value.value * error)

    source, load = network.sources[0], network.loads[0]
    wide = Network(
        (Source("battery", "plus", "minus", doubtful(source.volts), doubtful(source.ohms)),),
        tuple(Resistor(r.name, r.one, r.two, doubtful(r.ohms)) for r in network.resistors),
        (Load("unit", "outlet", "body", ohms=doubtful(load.ohms)),),
    )
    found = bounds(wide, {"unit": ("outlet", "body")})
    emf, inner, rest, last = (
        ufloat(x.value, x.value * error)
        for x in (source.volts, source.ohms, load.ohms, network.resistors[1].ohms)
    )
    fuse, body = (ufloat(network.resistors[at].ohms.value, error * network.resistors[at].ohms.value)
                  for at in (0, 2))  # fmt: skip
    theirs = emf * rest / (inner + fuse + last + body + rest)
    assert found.volts["unit"].value == pytest.approx(theirs.nominal_value)
    parts = sum(theirs.error_components().values())
    assert found.volts["unit"].width / 2 == pytest.approx(parts, rel=0.01)
    # Each doubt is one component, there and back.
    told = sorted(doubt.volts / 2 for doubt in found.doubts["unit"])
    reckoned = sorted(x for x in theirs.error_components().values() if x > 1e-6)
    assert told[-len(reckoned) :] == pytest.approx(reckoned, rel=0.02)
    assert found.volts["unit"].width / 2 >= theirs.std_dev * 0.99


@pytest.mark.parametrize(
    ("kind", "text", "unit"),
    [
        (Kind.MASS, "5,000 lb", "kilogram"),
        (Kind.FORCE, "5,000 lbf", "newton"),
        (Kind.LENGTH, "30 in", "millimeter"),
        (Kind.TORQUE, "80 ft lb", "newton * meter"),
        (Kind.RESISTANCE, "12 mΩ", "ohm"),
        (Kind.CURRENT, "250 mA", "ampere"),
    ],
)
def test_what_comes_in_at_the_door_agrees_with_pint(kind, text, unit) -> None:
    typed = {"lb": "pound", "lbf": "pound_force", "in": "inch", "ft lb": "foot * pound_force",
             "mΩ": "milliohm", "mA": "milliampere"}  # fmt: skip
    number, _, word = text.replace(",", "").partition(" ")
    theirs = pint.UnitRegistry().Quantity(float(number), typed[word]).to(unit).magnitude
    assert figure("it", parse(kind, text), kind) == pytest.approx(theirs, rel=1e-6, abs=1e-4)
    assert math.isfinite(theirs)
