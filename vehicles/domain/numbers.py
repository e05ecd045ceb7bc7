"""Reading a number as people type it, without ever guessing what a comma means.

Pure text work; conversions live in `units.py`.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal

LONGEST = 40

# ASCII digits on purpose: the class \d would also take digits of other scripts.
_PLAIN = re.compile(r"[0-9]{1,12}(\.[0-9]{0,9})?|\.[0-9]{1,9}")
_GROUPED = re.compile(r"[0-9]{1,3}((,[0-9]{3})+|( [0-9]{3})+)(\.[0-9]{0,9})?")
_FRACTION = re.compile(r"(?:([0-9]{1,4})[ -])?([0-9]{1,3})/([0-9]{1,3})")


class NumberError(ValueError):
    """The text is no number that can be taken; `str()` of it is a sentence for the person."""


def plain_text(text: str) -> str:
    """Return `text` trimmed, with full-width characters, odd spaces and minus signs made plain.

    Raises NumberError when it is longer than a measured value can be.
    """
    if len(text) > LONGEST:
        raise NumberError("This is too long for a measured value.")
    # Compatibility forms would turn a vulgar fraction into digits that read as another number.
    spaced = re.sub(r"(?<=[0-9])(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)
    plain = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/").replace("\u2212", "-")
    return " ".join(plain.split())


def parse_number(
    text: str, *, grouped: bool = True, signed: bool = False, fractions: bool = False
) -> Decimal:
    """Return the number in `text` exactly as typed.

    Takes `1234.5`, `1 234.5`, with `grouped` also `1,234.5` and `3,500`, with `signed` a
    leading + or -, with `fractions` also `1/2` and `2 1/2`. A comma that may be a decimal
    comma is asked about, never guessed. Raises NumberError with a sentence.
    """
    plain = plain_text(text)
    if not plain:
        raise NumberError("Enter a number.")
    sign, body = "", plain
    if plain[0] in "+-":
        sign, body = plain[0], plain[1:].lstrip()
        if not signed and sign == "-":
            raise NumberError("This value cannot be negative.")
    value = _unsigned(body, grouped=grouped, fractions=fractions)
    return -value if sign == "-" else value


def _unsigned(body: str, *, grouped: bool, fractions: bool) -> Decimal:
    if _PLAIN.fullmatch(body):
        return Decimal(body)
    if _GROUPED.fullmatch(body) and (grouped or "," not in body):
        return Decimal(body.replace(",", "").replace(" ", ""))
    fraction = _FRACTION.fullmatch(body) if fractions else None
    if fraction:
        whole, over, under = (int(part or 0) for part in fraction.groups())
        if under == 0:
            raise NumberError("A fraction cannot have 0 below the line.")
        return whole + Decimal(over) / Decimal(under)
    if "," in body and re.fullmatch(r"[0-9., ]+", body):
        raise NumberError(
            f"Is the comma in “{body}” a decimal sign? Write a point for decimals, as in 12.5, "
            "and leave thousands unmarked, as in 1234.5."
        )
    raise NumberError(f"“{body}” is not a number. Write it like 12 or 12.5.")
