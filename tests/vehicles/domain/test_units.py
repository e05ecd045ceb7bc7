"""Quantities as typed, stored and shown."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.units import (
    RULES,
    Kind,
    UnitError,
    parse,
    shown,
    to_canonical,
    to_display,
    unit_choices,
)

KINDS_AND_UNITS = [(kind, unit) for kind, rule in RULES.items() for unit in rule.units]


@pytest.mark.parametrize("text", ["2 ft 6 in", "2' 6\"", '30"', "30''", "2'6\"", "2 feet 6 inches"])
def test_feet_and_inches_are_one_length(text: str) -> None:
    quantity = parse(Kind.LENGTH, text)
    assert quantity.value == 30
    assert quantity.unit == "in"
    assert quantity.canonical == 762
    assert quantity.typed == text


def test_a_bare_number_asks_for_its_unit() -> None:
    with pytest.raises(UnitError, match="Which unit"):
        parse(Kind.LENGTH, "30")
    with pytest.raises(UnitError, match="Which unit"):
        parse(Kind.TEMPERATURE, "180")


def test_a_bare_number_takes_the_unit_of_the_list() -> None:
    assert parse(Kind.LENGTH, "30", "in").canonical == 762


@pytest.mark.parametrize("text", ["2 ft 14 in", "2.5 ft 6 in"])
def test_feet_and_inches_that_do_not_add_up_are_refused(text: str) -> None:
    with pytest.raises(UnitError, match="fewer than 12 inches"):
        parse(Kind.LENGTH, text)


def test_inches_take_fractions() -> None:
    assert parse(Kind.LENGTH, "2 ft 6 1/2 in").value == Decimal("30.5")
    assert parse(Kind.LENGTH, "1/2 in").canonical == Decimal("12.7")


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("180 degF", "82.2"), ("180 °F", "82.2"), ("82.2 °C", "82.2"), ("-40F", "-40.0")],
)
def test_temperatures_in_both_scales(text: str, celsius: str) -> None:
    quantity = parse(Kind.TEMPERATURE, text)
    assert to_display(Kind.TEMPERATURE, quantity.canonical, "degC") == Decimal(celsius)


def test_below_absolute_zero_is_refused() -> None:
    with pytest.raises(UnitError, match="colder"):
        parse(Kind.TEMPERATURE, "-300 °C")


@pytest.mark.parametrize("text", ["10 J", "10 joule", "10 kWh"])
def test_torque_is_not_energy(text: str) -> None:
    with pytest.raises(UnitError, match="not a unit of torque"):
        parse(Kind.TORQUE, text)


@pytest.mark.parametrize("text", ["10 Nm", "10 N·m", "10 N-m", "10 N*m"])
def test_spellings_of_newton_metres(text: str) -> None:
    assert parse(Kind.TORQUE, text).canonical == 10


def test_pounds_are_a_mass_or_a_force_as_the_kind_says() -> None:
    assert parse(Kind.MASS, "25 lb").unit == "lb"
    assert parse(Kind.FORCE, "25 lb").unit == "lbf"


def test_capitals_that_change_the_meaning_count() -> None:
    assert parse(Kind.VOLTAGE, "500 mV").canonical == Decimal("0.5")
    with pytest.raises(UnitError, match="“MV”"):
        parse(Kind.VOLTAGE, "500 MV")
    assert parse(Kind.VOLTAGE, "12.6 v").unit == "V"


def test_both_omega_characters_mean_ohms() -> None:
    assert parse(Kind.RESISTANCE, "3 \u03a9").unit == "ohm"
    assert parse(Kind.RESISTANCE, "3 \u2126").unit == "ohm"
    assert parse(Kind.RESISTANCE, "3 m\u03a9").unit == "mohm"


def test_text_and_list_that_differ_are_asked_about() -> None:
    with pytest.raises(UnitError, match="which one"):
        parse(Kind.MASS, "3500 lb", "kg")
    with pytest.raises(UnitError, match="which one"):
        parse(Kind.LENGTH, "2' 6\"", "mm")
    assert parse(Kind.LENGTH, "2' 6\"", "ft").unit == "in"


def test_decimal_comma_is_asked_about_and_thousands_are_taken_where_they_occur() -> None:
    assert parse(Kind.MASS, "3,500 lb").value == 3500
    with pytest.raises(UnitError, match="comma"):
        parse(Kind.VOLTAGE, "12,640 V")
    with pytest.raises(UnitError, match="comma"):
        parse(Kind.MASS, "12,5 kg")


@pytest.mark.parametrize("text", ["9**9**9**9 kg", "kg", "__import__('os')", "1 kg*kg", "1/0 in"])
def test_text_that_a_units_library_would_run_gets_a_sentence(text: str) -> None:
    kind = Kind.LENGTH if "in" in text else Kind.MASS
    with pytest.raises(UnitError):
        parse(kind, text, None)


def test_a_unit_outside_the_list_is_refused() -> None:
    for call in (
        lambda: parse(Kind.MASS, "3", "stone"),
        lambda: to_canonical(Kind.MASS, Decimal(3), "stone"),
        lambda: to_display(Kind.MASS, Decimal(3), "stone"),
    ):
        with pytest.raises(UnitError, match="from the list"):
            call()


def test_too_large_values_are_refused() -> None:
    with pytest.raises(UnitError, match="too large"):
        parse(Kind.MASS, "999999999999 kg")
    with pytest.raises(UnitError, match="too large"):
        parse(Kind.LENGTH, "2000000 m")


def test_shown_with_label() -> None:
    assert shown(Kind.VOLTAGE, Decimal("12.6"), "V") == "12.60 V"
    assert shown(Kind.MASS, to_canonical(Kind.MASS, Decimal(3500), "lb"), "lb") == "3,500 lb"
    assert shown(Kind.TEMPERATURE, Decimal("-0.01"), "degC") == "0.0 °C"


def test_choices_begin_with_the_stored_unit() -> None:
    for kind, rule in RULES.items():
        assert unit_choices(kind)[0][0] == rule.canonical


@pytest.mark.parametrize(("kind", "unit"), KINDS_AND_UNITS)
@given(data=st.data())
def test_what_was_typed_comes_back_from_the_stored_value(
    kind: Kind, unit: str, data: st.DataObject
) -> None:
    places = RULES[kind].units[unit].places
    value = data.draw(st.decimals(min_value=0, max_value=9999, places=places))
    quantity = parse(kind, f"{value:f} {unit}")
    assert (quantity.value, quantity.unit) == (value, unit)
    assert to_display(kind, quantity.canonical, unit) == value


@given(st.sampled_from(Kind), st.text(max_size=50))
def test_any_text_gives_a_quantity_or_a_sentence(kind: Kind, text: str) -> None:
    sentence, quantity = "", None
    try:
        quantity = parse(kind, text)
    except UnitError as fault:
        sentence = str(fault)
    if quantity is None:
        assert sentence.endswith((".", "?"))
    else:
        assert quantity.unit in RULES[kind].units


def test_the_library_is_loaded_on_first_use_only() -> None:
    code = (
        "import sys; import vehicles.domain.units as u; from decimal import Decimal as D; "
        "assert 'pint' not in sys.modules; u.to_display(u.Kind.MASS, D(1), 'lb'); "
        "assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
