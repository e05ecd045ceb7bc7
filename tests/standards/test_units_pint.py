"""Conversions against figures defined or published elsewhere, and against a units library.

Sources: the factors marked "exact by definition" are the international pound, inch and mile and
standard gravity, from memory. Others carry their own note. pint is called here directly as
the second opinion; the code under test never hands it a person's text.
"""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest

from vehicles.domain.units import RULES, Kind, to_canonical, to_display

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("kind", "value", "unit", "canonical"),
    [
        # Exact by definition, from memory; shown to four places.
        (Kind.MASS, "10000", "lb", "4535.9237"),
        (Kind.LENGTH, "1", "in", "25.4"),
        (Kind.LENGTH, "1", "ft", "304.8"),
        (Kind.DISTANCE, "1", "mi", "1.6093"),
        (Kind.SPEED, "100", "mph", "160.9344"),
        (Kind.FORCE, "1", "kgf", "9.8067"),
        (Kind.FORCE, "1", "lbf", "4.4482"),
        # 1 ft lbf = 1.3558 N m, follows from the two definitions above.
        (Kind.TORQUE, "10", "ft·lbf", "13.5582"),
        (Kind.TORQUE, "12", "in·lbf", "1.3558"),
        # 1 bar = 100 kPa by definition; psi follows from pound-force and inch.
        (Kind.PRESSURE, "1", "bar", "100"),
        (Kind.PRESSURE, "100", "psi", "689.4757"),
        # Scales meet at -40; freezing and boiling of water, from memory.
        (Kind.TEMPERATURE, "-40", "degF", "-40"),
        (Kind.TEMPERATURE, "32", "degF", "0"),
        (Kind.TEMPERATURE, "212", "degF", "100"),
    ],
)
def test_defined_conversions(kind: Kind, value: str, unit: str, canonical: str) -> None:
    assert to_canonical(kind, Decimal(value), unit) == Decimal(canonical)


def test_weight_limit_of_the_vin_rule_in_both_units() -> None:
    # 49 CFR 565.15(b), read: 4,536 kg stands beside 10,000 lb.
    assert to_display(Kind.MASS, to_canonical(Kind.MASS, Decimal(10000), "lb"), "kg") == 4536


def test_published_engine_temperature_pair() -> None:
    # 180 °F beside 82.2 °C: a common thermostat pair, common practice, no source.
    canonical = to_canonical(Kind.TEMPERATURE, Decimal(180), "degF")
    assert to_display(Kind.TEMPERATURE, canonical, "degC") == Decimal("82.2")


@pytest.mark.parametrize(
    ("kind", "unit"), [(kind, unit) for kind, rule in RULES.items() for unit in rule.units]
)
def test_second_opinion_of_the_library_in_floats(kind: Kind, unit: str) -> None:
    rule = RULES[kind]
    source, target = rule.units[unit].library_name, rule.units[rule.canonical].library_name
    theirs = REGISTRY.Quantity(123.4, source).to(target).magnitude
    assert float(to_canonical(kind, Decimal("123.4"), unit)) == pytest.approx(theirs, abs=6e-5)


def test_the_library_takes_torque_for_energy_which_is_why_units_come_from_a_list() -> None:
    assert REGISTRY.Quantity(10, "newton * meter").is_compatible_with("joule")
    assert not any("joule" in unit.library_name for unit in RULES[Kind.TORQUE].units.values())
