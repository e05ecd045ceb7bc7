"""Quantities with units: what may be typed, how it is stored, how it is shown.

Stored is a canonical Decimal in one unit per kind (see `RULES`), beside what was typed. A
person's text never reaches the conversion library: numbers are read by `numbers.py`,
unit words are looked up in the tables here, and only names from these tables go on. (Given
text, that library would multiply "2 ft 6 in", fail on degrees, and can hang on powers.)
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from functools import cache
from typing import Any

from vehicles.domain.numbers import NumberError, parse_number, plain_text

# Enough that what was typed comes back unchanged from the canonical value at the shown places.
CANONICAL_PLACES = 4
_LARGEST = Decimal(10) ** 9
_INCHES_A_FOOT = 12
_COLDEST_C = Decimal("-273.15")


class UnitError(ValueError):
    """The text is no quantity of this kind; `str()` of it is a sentence for the person."""


class Kind(StrEnum):
    """Kinds of quantity. Torque is its own kind: it is never mixed with energy."""

    MASS = "mass"
    LENGTH = "length"
    DISTANCE = "distance"
    SPEED = "speed"
    VOLTAGE = "voltage"
    CURRENT = "current"
    RESISTANCE = "resistance"
    PRESSURE = "pressure"
    TORQUE = "torque"
    FORCE = "force"
    TEMPERATURE = "temperature"


@dataclass(frozen=True, slots=True)
class Unit:
    """One allowed unit: its name here, the library's name, label, places shown, other spellings.

    `exact` spellings count with their capitals (mV is not MV); `words` in any capitals.
    """

    name: str
    library_name: str
    label: str
    places: int
    words: frozenset[str] = frozenset()
    exact: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class KindRule:
    """The canonical unit and the allowed units of a kind.

    `grouped`: a comma before three digits is a thousands mark (a weight of 3,500), not asked
    about. `signed`: values below zero make sense.
    """

    canonical: str
    units: Mapping[str, Unit]
    grouped: bool = True
    signed: bool = False


def _unit(
    name: str, library_name: str, places: int, words: str = "", *, label: str = "", exact: str = ""
) -> Unit:
    """Build a Unit; `words` and `exact` are spellings parted by a bar."""
    spelled = frozenset(word for word in words.split("|") if word)
    kept = frozenset(word for word in exact.split("|") if word)
    return Unit(name, library_name, label or name, places, spelled, kept | {name})


def _rule(*units: Unit, grouped: bool = True, signed: bool = False) -> KindRule:
    """Build a KindRule; the first unit is the canonical one."""
    return KindRule(units[0].name, {unit.name: unit for unit in units}, grouped, signed)


_FOOT_POUND = "ft lbf|ft-lbf|ft lb|ft-lb|ft·lb|lb-ft|lb ft|lbf-ft|lbf ft|lbf·ft|ft lbs|ft-lbs"
_INCH_POUND = "in lbf|in-lbf|in lb|in-lb|in·lb|lb-in|lb in|lbf-in|lbf in|lbf·in|in lbs|in-lbs"

RULES: Mapping[Kind, KindRule] = {
    Kind.MASS: _rule(
        _unit("kg", "kilogram", 0, "kg|kgs|kilogram|kilograms"),
        _unit("lb", "pound", 0, "lb|lbs|pound|pounds"),
    ),
    Kind.LENGTH: _rule(
        _unit("mm", "millimeter", 0, exact="mm"),
        _unit("cm", "centimeter", 1, "cm"),
        _unit("m", "meter", 2, "meter|meters|metre|metres"),
        _unit("in", "inch", 2, "in|in.|inch|inches|\"|''|\u2033|\u201d"),
        _unit("ft", "foot", 2, "ft|ft.|foot|feet|'|\u2032|\u2019"),
    ),
    Kind.DISTANCE: _rule(
        _unit("km", "kilometer", 0, "km|kms|kilometer|kilometers|kilometre|kilometres"),
        _unit("mi", "mile", 0, "mi|mile|miles"),
    ),
    Kind.SPEED: _rule(
        _unit("km/h", "kilometer / hour", 0, "km/h|kmh|kph"),
        _unit("mph", "mile / hour", 0, "mph|mi/h"),
        grouped=False,
    ),
    Kind.VOLTAGE: _rule(
        _unit("V", "volt", 2, "v|volt|volts"),
        _unit("mV", "millivolt", 0, exact="mv"),
        grouped=False,
        signed=True,
    ),
    Kind.CURRENT: _rule(
        _unit("A", "ampere", 2, "a|amp|amps|ampere|amperes"),
        _unit("mA", "milliampere", 0, exact="ma"),
        grouped=False,
        signed=True,
    ),
    Kind.RESISTANCE: _rule(
        _unit("ohm", "ohm", 2, "ohm|ohms|\u03c9", label="\u03a9"),
        _unit("mohm", "milliohm", 1, label="m\u03a9", exact="m\u03a9"),
        _unit("kohm", "kiloohm", 2, label="k\u03a9", exact="k\u03a9"),
        grouped=False,
    ),
    Kind.PRESSURE: _rule(
        _unit("kPa", "kilopascal", 0, "kpa"),
        _unit("psi", "psi", 1, "psi"),
        _unit("bar", "bar", 2, "bar"),
        _unit("inHg", "inch_Hg", 1, "inhg|in hg|inches of mercury"),
    ),
    Kind.TORQUE: _rule(
        _unit("N·m", "newton * meter", 1, exact="Nm|N m|N-m|N*m"),
        _unit("ft·lbf", "foot * pound_force", 1, _FOOT_POUND),
        _unit("in·lbf", "inch * pound_force", 0, _INCH_POUND),
    ),
    Kind.FORCE: _rule(
        _unit("N", "newton", 0, "newton|newtons"),
        _unit("kN", "kilonewton", 2),
        # A pull or a rating in "pounds" is a force; the kind asked for leaves no doubt.
        _unit("lbf", "pound_force", 0, "lbf|lb|lbs|pound|pounds"),
        _unit("kgf", "kilogram_force", 0, "kgf"),
    ),
    Kind.TEMPERATURE: _rule(
        _unit("degC", "degree_Celsius", 1, "degc|deg c|°c|° c|c|celsius", label="°C"),
        _unit("degF", "degree_Fahrenheit", 1, "degf|deg f|°f|° f|f|fahrenheit", label="°F"),
        grouped=False,
        signed=True,
    ),
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value as typed (`typed`, `value`, `unit`) and in the kind's canonical unit."""

    kind: Kind
    canonical: Decimal
    value: Decimal
    unit: str
    typed: str


def unit_choices(kind: Kind) -> list[tuple[str, str]]:
    """Return (name, label) of the units allowed for `kind`, the canonical one first."""
    return [(unit.name, unit.label) for unit in RULES[kind].units.values()]


def to_canonical(kind: Kind, value: Decimal, unit: str) -> Decimal:
    """Return `value` of `unit` in the canonical unit of `kind`, to `CANONICAL_PLACES` places.

    Raises UnitError for a unit that is not allowed for `kind`, a value too large to store,
    or a temperature below absolute zero.
    """
    rule, allowed = RULES[kind], _allowed(kind, unit)
    if abs(value) >= _LARGEST:
        raise UnitError("This value is too large.")
    canonical = _rounded(_convert(value, allowed, rule.units[rule.canonical]), CANONICAL_PLACES)
    if abs(canonical) >= _LARGEST:
        raise UnitError("This value is too large.")
    if kind is Kind.TEMPERATURE and canonical < _COLDEST_C:
        raise UnitError("This is colder than anything can be.")
    return canonical


def to_display(kind: Kind, canonical: Decimal, unit: str) -> Decimal:
    """Return a stored `canonical` value of `kind` in `unit`, half rounded up at its places.

    Raises UnitError for a unit that is not allowed for `kind`.
    """
    rule, wanted = RULES[kind], _allowed(kind, unit)
    return _rounded(_convert(canonical, rule.units[rule.canonical], wanted), wanted.places)


def shown(kind: Kind, canonical: Decimal, unit: str) -> str:
    """Return number and label for a screen, such as `12.60 V` or `3,500 lb`."""
    return f"{to_display(kind, canonical, unit):,f} {_allowed(kind, unit).label}"


def parse(kind: Kind, text: str, unit: str | None = None) -> Quantity:
    """Read `text` as a quantity of `kind`; `unit` is the choice from the list beside the field.

    The unit may stand in the text instead (`180 °F`, `30"`); lengths also as `2 ft 6 in`,
    inches also as fractions. Without any unit the unit is asked for, and two units that differ
    are asked about. Raises UnitError with a sentence; never guesses, never runs the text.
    """
    rule = RULES[kind]
    if unit is not None:
        _allowed(kind, unit)
    try:
        plain = plain_text(text)
        feet = _feet_and_inches(plain) if kind is Kind.LENGTH else None
        if feet is not None:
            value, found = feet, "in"
        else:
            number, word = _split(plain)
            value = parse_number(
                number,
                grouped=rule.grouped,
                signed=rule.signed,
                fractions=kind is Kind.LENGTH,
            )
            found = _resolve(kind, word, unit)
    except NumberError as fault:
        raise UnitError(str(fault)) from fault
    agreeing = (found,) if feet is None else ("in", "ft")
    if unit is not None and unit not in agreeing:
        raise UnitError(
            f"The text says {_allowed(kind, found).label}, the list says "
            f"{_allowed(kind, unit).label}: which one is right?"
        )
    return Quantity(kind, to_canonical(kind, value, found), value, found, text)


def _split(plain: str) -> tuple[str, str]:
    """Part `plain` after its last digit (or point) into number text and unit word."""
    match = re.fullmatch(r"([-+0-9.,/ ]*[0-9]\.?)(?![0-9])(.*)", plain)
    return (match[1].strip(), match[2].strip()) if match else (plain, "")


def _resolve(kind: Kind, word: str, unit: str | None) -> str:
    if not word:
        if unit is None:
            raise UnitError(f"Which unit? Choose one of {_listed(kind)}.")
        return unit
    for allowed in RULES[kind].units.values():
        if word in allowed.exact or word.casefold() in allowed.words:
            return allowed.name
    raise UnitError(f"“{word}” is not a unit of {kind.value} here. Choose one of {_listed(kind)}.")


_FEET_INCHES = re.compile(
    r"(?P<feet>[^a-z'\u2032\u2019]+?) ?(?:ft\.?|foot|feet|['\u2032\u2019])(?!['\u2032\u2019]) ?"
    r"(?P<inches>[0-9][^a-z\"\u2033\u201d]*?) ?(?:in\.?|inch|inches|[\"\u2033\u201d]|'')",
    re.IGNORECASE,
)


def _feet_and_inches(plain: str) -> Decimal | None:
    """Return inches for `2 ft 6 in` and `2' 6"`, None when `plain` has not that form."""
    match = _FEET_INCHES.fullmatch(plain)
    if not match:
        return None
    feet = parse_number(match["feet"])
    inches = parse_number(match["inches"], fractions=True)
    if feet != feet.to_integral_value() or inches >= _INCHES_A_FOOT:
        raise UnitError("With feet and inches, give whole feet and fewer than 12 inches.")
    return feet * _INCHES_A_FOOT + inches


def _allowed(kind: Kind, unit: str) -> Unit:
    try:
        return RULES[kind].units[unit]
    except KeyError:
        raise UnitError(f"Choose the unit from the list: {_listed(kind)}.") from None


def _listed(kind: Kind) -> str:
    return ", ".join(label for _, label in unit_choices(kind))


def _rounded(value: Decimal, places: int) -> Decimal:
    # Adding zero turns a negative zero into a plain one.
    return value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP) + 0


@cache
def _registry() -> Any:
    # Imported and built on first use: together they cost a good third of a second.
    from pint import UnitRegistry  # noqa: PLC0415

    return UnitRegistry(non_int_type=Decimal)


def _convert(value: Decimal, source: Unit, target: Unit) -> Decimal:
    if source == target:
        return value
    quantity = _registry().Quantity(value, source.library_name)
    return Decimal(quantity.to(target.library_name).magnitude)
