"""Numbers at the door of a calculation: refused with a sentence that names field and reason.

Inside the calculations numbers are plain floats in the canonical units of `units.py`
(kilograms, millimetres, volts, amps, ohms, newtons, degrees Celsius); a wire's length is in
metres and a battery's capacity in amp-hours, because those two have no kind there.
"""

from __future__ import annotations

import math
from typing import SupportsFloat

from vehicles.domain.units import Kind, Quantity

_COLDEST_C = -273.15


class InputError(ValueError):
    """A value that cannot be: `field` says which one, `reason` why; `str()` is the sentence."""

    def __init__(self, field: str, reason: str) -> None:
        self.field = field
        self.reason = reason
        super().__init__(f"{field[:1].upper()}{field[1:]}: {reason}")


def number(field: str, value: SupportsFloat) -> float:
    """Return `value` as a finite float. Raises InputError for text, NaN and infinity."""
    try:
        found = float(value)
    except (TypeError, ValueError):
        raise InputError(field, f"“{value}” is not a number.") from None
    if not math.isfinite(found):
        raise InputError(field, "this is not a number that can be reckoned with.")
    return found


def positive(field: str, value: SupportsFloat) -> float:
    """Return `value` as a float above 0, in whatever unit. Raises InputError otherwise."""
    found = number(field, value)
    if found <= 0:
        raise InputError(field, f"{found:g} was given; it must be more than 0.")
    return found


def not_negative(field: str, value: SupportsFloat) -> float:
    """Return `value` as a float of at least 0, in whatever unit. Raises InputError otherwise."""
    found = number(field, value)
    if found < 0:
        raise InputError(field, f"{found:g} was given; it cannot be negative.")
    return found


def share(field: str, value: SupportsFloat) -> float:
    """Return `value` as a float above 0 and at most 1. Raises InputError otherwise."""
    found = number(field, value)
    if not 0 < found <= 1:
        raise InputError(
            field, f"{found:g} was given; a share lies above 0 and at most at 1 (80 % is 0.8)."
        )
    return found


def temperature(field: str, value: SupportsFloat) -> float:
    """Return degrees Celsius above absolute zero. Raises InputError otherwise."""
    found = number(field, value)
    if found <= _COLDEST_C:
        raise InputError(field, f"{found:g} °C is colder than anything can be.")
    return found


def figure(field: str, quantity: Quantity, kind: Kind) -> float:
    """Return the canonical value of a typed `quantity` (kg, mm, V, A, ohm, N, N·m, degC ...).

    Raises InputError where it is of another kind: a torque is no energy and a mass no force,
    whatever the letters of their units.
    """
    if quantity.kind is not kind:
        raise InputError(
            field, f"“{quantity.typed}” is a {quantity.kind.value}, a {kind.value} is asked for."
        )
    return float(quantity.canonical)
