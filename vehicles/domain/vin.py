"""Reading a vehicle identification number: form, check digit, model year, maker.

Sources, as far as they were read: letter values, weights and the check digit follow
49 CFR 565.15(c) (read in copies and in the agency's outline for new manufacturers); the
letter-or-digit rule of position 7 follows 565.15(b) and (d) for passenger cars, and for
multipurpose vehicles and trucks up to 4,536 kg (10,000 lb) gross rating; the maker's
identification follows 565.15(a). The model-year letters (Table VII) are from memory, as are the
lengths used before model year 1981.

Two things a reader must know:

- A number that passes is not proven right. Letters and digits of equal value may be exchanged
  unseen (S typed for 2, Z for 9), so a photo of the plate stays the better witness.
- A motorhome's number belongs to its *chassis*: maker and year read here are the chassis maker's
  and never overwrite what is recorded of the coach.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from enum import StrEnum

LENGTH = 17
FIRST_STANDARD_YEAR = 1981

_VALUES: dict[str, int] = {str(digit): digit for digit in range(10)}
_VALUES |= dict(zip("ABCDEFGH", range(1, 9), strict=True))
_VALUES |= dict(zip("JKLMN", range(1, 6), strict=True)) | {"P": 7, "R": 9}
_VALUES |= dict(zip("STUVWXYZ", range(2, 10), strict=True))
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)

_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
_YEAR_CYCLE = 30
_FIRST_YEAR = 1980

_LOOK_ALIKES = {"I": "1", "O": "0", "Q": "0"}
# Makers chose their own lengths before model year 1981; from memory, so wide on purpose.
_OLD_LENGTHS = range(5, LENGTH + 1)
# From memory: first character of numbers given out in the United States, Canada and Mexico.
_NORTH_AMERICA = "12345"
_FEWEST_DIFFERENT = 4
_SEQUENCE = "1234567890" * 2


class VinKind(StrEnum):
    """What form a number has."""

    STANDARD = "standard"
    PRE_1981 = "pre_1981"
    UNUSABLE = "unusable"


@dataclass(frozen=True, slots=True)
class VinReport:
    """What `check_vin` found.

    `typed` is the input unchanged, `text` the cleaned number (capitals, no spaces or dashes).
    `faults` are sentences that block saving; `notes` warn and never block. `suggestion` is a
    number to offer when I, O or Q was typed; it is offered, never put in place. `model_years`
    are the years that position 10 allows, oldest first (empty: it tells nothing).
    `maker` is the maker's identification, or None where the form has none.
    """

    typed: str
    text: str
    kind: VinKind
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    placeholder: bool = False
    suggestion: str | None = None
    model_years: tuple[int, ...] = ()
    maker: str | None = None

    @property
    def ok(self) -> bool:
        """True when nothing blocks; warnings may remain in `notes`."""
        return not self.faults

    @property
    def match_key(self) -> str | None:
        """The text to compare for duplicates; None for a faulty number or a placeholder."""
        return self.text if self.ok and not self.placeholder else None


def clean_vin(text: str) -> str:
    """Return `text` in capitals without spaces, dashes and a bar code's enclosing asterisks.

    Full-width characters become plain ones; no character is exchanged for another, so
    whatever does not belong stays visible for `check_vin` to name.
    """
    plain = unicodedata.normalize("NFKC", text).strip().strip("*")
    kept = (c for c in plain if not c.isspace() and unicodedata.category(c) not in ("Pd", "Cf"))
    # Capitals for ASCII only: capitals of some other letters are two letters long.
    return "".join(c.upper() if c.isascii() else c for c in kept)


def check_digit(vin: str) -> str:
    """Return the digit (or X for ten) that belongs in position 9; position 9 itself is ignored.

    Source: 49 CFR 565.15(c). Raises ValueError unless `vin` has 17 characters, each a digit
    or a capital letter other than I, O and Q.
    """
    if len(vin) != LENGTH or any(c not in _VALUES for c in vin):
        raise ValueError("a check digit needs 17 characters without I, O and Q")
    rest = sum(_VALUES[c] * w for c, w in zip(vin, _WEIGHTS, strict=True)) % 11
    return "0123456789X"[rest]


def model_year_candidates(
    vin: str, *, light: bool | None = None, latest: int | None = None
) -> tuple[int, ...]:
    """Return the model years, 1980 to 2039, that position 10 of a 17-character number allows.

    `light` True means a passenger car, or a multipurpose vehicle or truck of at most 4,536 kg
    (10,000 lb) gross rating: then a letter in position 7 means 2010 or later and a digit
    means 2009 or earlier (49 CFR 565.15). For heavier vehicles, and when `light` is None, the rule
    does not apply or is not known to, so both years come back and a person chooses.
    `latest` leaves out years after it. Empty when the character codes no year (I, O, Q, U, Z, 0).
    Raises ValueError for another length than 17.
    """
    if len(vin) != LENGTH:
        raise ValueError("a model year can be read from 17 characters only")
    place = _YEAR_CODES.find(vin[9])
    if place < 0:
        return ()
    early = _FIRST_YEAR + place
    years: tuple[int, ...] = (early, early + _YEAR_CYCLE)
    if light:
        years = (years[1],) if vin[6].isalpha() else (years[0],)
    return tuple(year for year in years if latest is None or year <= latest)


def maker_identification(vin: str) -> str:
    """Return the characters that name the maker of a 17-character number.

    Normally positions 1 to 3; with 9 in position 3 the maker builds few vehicles and shares that
    prefix with others, so positions 12 to 14 belong to it as well (49 CFR 565.15(a)).
    Raises ValueError for another length than 17.
    """
    if len(vin) != LENGTH:
        raise ValueError("a maker can be read from 17 characters only")
    return vin[:3] + vin[11:14] if vin[2] == "9" else vin[:3]


def check_vin(text: str, *, model_year: int | None = None, light: bool | None = None) -> VinReport:
    """Judge a typed number and say in sentences what is wrong (blocks) or odd (warns).

    Blocks: a length other than 17 unless `model_year` is before 1981, characters that
    do not exist in such numbers. Warns: failing check digit (makers outside North America need
    none), a placeholder, a model year that position 10 contradicts. Nothing is corrected.
    `light` as in `model_year_candidates`. Never raises for any text.
    """
    clean = clean_vin(text)
    if not clean:
        return VinReport(text, clean, VinKind.UNUSABLE, ("Enter the VIN, or leave it for later.",))
    strange = [c for c in dict.fromkeys(clean) if not (c.isascii() and c.isalnum())]
    if strange:
        shown = ", ".join(repr(c) for c in strange)
        fault = f"A VIN holds only the letters A to Z and digits; this one holds {shown}."
        return VinReport(text, clean, VinKind.UNUSABLE, (fault,))
    forbidden = any(c in _LOOK_ALIKES for c in clean)
    old = model_year is not None and model_year < FIRST_STANDARD_YEAR
    if old and len(clean) in _OLD_LENGTHS and (len(clean) != LENGTH or forbidden):
        return _old_number(text, clean)
    if len(clean) != LENGTH:
        fault = _length_fault(clean, model_year=model_year)
        return VinReport(text, clean, VinKind.UNUSABLE, (fault,))
    if forbidden:
        return _forbidden_letters(text, clean)
    return _standard(text, clean, model_year=model_year, light=light)


def _old_number(typed: str, clean: str) -> VinReport:
    notes = ["Form from before model year 1981: no check digit and no year can be read from it."]
    placeholder = _looks_like_placeholder(clean, fewest=2)
    if placeholder:
        notes.append(_PLACEHOLDER_NOTE)
    return VinReport(typed, clean, VinKind.PRE_1981, (), tuple(notes), placeholder)


def _length_fault(clean: str, *, model_year: int | None) -> str:
    count = f"This number has {len(clean)} character{'' if len(clean) == 1 else 's'}"
    if len(clean) > LENGTH:
        # From memory: some door-label bar codes carry an I in front of the number itself.
        lead = " The I in front may be the bar code's own mark." if clean[0] == "I" else ""
        return f"{count}; a VIN has 17.{lead}"
    if model_year is None:
        return (
            f"{count}; a VIN has 17. Shorter ones occur before model year 1981 only: "
            "enter the model year if this vehicle is that old."
        )
    if model_year < FIRST_STANDARD_YEAR:
        return f"{count}: too short to be told apart, even for one from before 1981."
    return f"{count}; from model year 1981 on a VIN has 17, and the year given is {model_year}."


def _forbidden_letters(typed: str, clean: str) -> VinReport:
    faults = tuple(
        f"Position {place}: the letter {c} is not used in a VIN; "
        f"was the digit {_LOOK_ALIKES[c]} meant?"
        for place, c in enumerate(clean, 1)
        if c in _LOOK_ALIKES
    )
    offered = "".join(_LOOK_ALIKES.get(c, c) for c in clean)
    return VinReport(typed, clean, VinKind.UNUSABLE, faults, suggestion=offered)


_PLACEHOLDER_NOTE = (
    "This looks like a placeholder. It is kept, but not compared with other vehicles; "
    "replace it once the plate was read."
)


def _looks_like_placeholder(clean: str, *, fewest: int) -> bool:
    """Tell whether so few characters differ, or they count upwards, that nobody read a plate."""
    return len(set(clean)) < fewest or clean in _SEQUENCE or clean in "0" + _SEQUENCE


def _standard(typed: str, clean: str, *, model_year: int | None, light: bool | None) -> VinReport:
    expected = check_digit(clean)
    fits = clean[8] == expected
    # A failing check digit means a misread character or a maker not bound by these rules; either
    # way position 7 proves nothing, so both years are offered.
    years = model_year_candidates(clean, light=light if fits else None)
    placeholder = _looks_like_placeholder(clean, fewest=_FEWEST_DIFFERENT)
    notes = [_PLACEHOLDER_NOTE] if placeholder else []
    if not fits:
        notes.append(_check_digit_note(clean, expected))
    if model_year is not None and years and model_year not in years and not placeholder:
        read = " or ".join(str(year) for year in years)
        notes.append(
            f"Position 10 ({clean[9]}) reads as model year {read}, but {model_year} was entered. "
            "On a motorhome the number gives the year of the chassis."
        )
    return VinReport(
        typed,
        clean,
        VinKind.STANDARD,
        (),
        tuple(notes),
        placeholder,
        model_years=years,
        maker=maker_identification(clean),
    )


def _check_digit_note(clean: str, expected: str) -> str:
    seen = f"The check digit in position 9 is {clean[8]}; the other characters give {expected}."
    if clean[0] in _NORTH_AMERICA:
        return f"{seen} A character is probably misread: compare with the plate."
    return (
        f"{seen} Makers outside North America need not use it; compare with the plate all the same."
    )
