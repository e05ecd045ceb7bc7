"""Phone numbers: what was typed, the number to dial, and the extension."""

from __future__ import annotations

import re
from dataclasses import dataclass

import phonenumbers
from phonenumbers import NumberParseException, ValidationResult

LONGEST = 60
LONGEST_EXTENSION = 10

_FAULTS = {
    ValidationResult.IS_POSSIBLE_LOCAL_ONLY: "The area code is missing.",
    ValidationResult.TOO_SHORT: "This number is too short; give the area code as well.",
    ValidationResult.TOO_LONG: "This number is too long; enter one number, remarks elsewhere.",
    ValidationResult.INVALID_COUNTRY_CODE: "No country has the code after the plus sign.",
    ValidationResult.INVALID_LENGTH: "No number there has this length.",
}
_NOT_A_NUMBER = (
    "This does not read as a phone number. Write it like 212 555 0187, "
    "with + and the country's code for other countries, and x7 for an extension."
)
_NO_SUCH = "No such number is given out there; it is kept, but check it."


@dataclass(frozen=True, slots=True)
class PhoneNumber:
    """A number as `typed`; `e164` to dial (empty when `fault` is set) and the `extension`.

    `fault` is a sentence that blocks, `note` one that only warns.
    """

    typed: str
    e164: str = ""
    extension: str = ""
    fault: str | None = None
    note: str | None = None

    @property
    def uri(self) -> str:
        """The `tel:` address with the extension (RFC 3966), empty without a number."""
        if not self.e164:
            return ""
        return f"tel:{self.e164};ext={self.extension}" if self.extension else f"tel:{self.e164}"


def read_phone(typed: str, *, country: str = "US") -> PhoneNumber:
    """Read one phone number; `country` (two letters) counts where no + and code is given.

    Letters of a number spelled as a word become the digits on their keys, the extension is
    kept apart, and whatever of the digits would be lost makes a fault. A number that could exist
    but is not given out is taken with a note. Never raises.
    """
    if len(typed) > LONGEST:
        return PhoneNumber(typed, fault=f"At most {LONGEST} characters: one number a line.")
    try:
        number = phonenumbers.parse(typed, country)
    except NumberParseException as problem:
        if problem.error_type == NumberParseException.INVALID_COUNTRY_CODE and "+" in typed:
            return PhoneNumber(typed, fault=_FAULTS[ValidationResult.INVALID_COUNTRY_CODE])
        return PhoneNumber(typed, fault=_NOT_A_NUMBER)
    reason = phonenumbers.is_possible_number_with_reason(number)
    if reason != ValidationResult.IS_POSSIBLE:
        return PhoneNumber(typed, fault=_FAULTS.get(reason, _NOT_A_NUMBER))
    extension = number.extension or ""
    if len(extension) > LONGEST_EXTENSION:
        return PhoneNumber(typed, fault=f"An extension has at most {LONGEST_EXTENSION} digits.")
    if _loses_digits(typed, phonenumbers.national_significant_number(number), extension):
        return PhoneNumber(typed, fault="More digits than one number has: enter one number a line.")
    return PhoneNumber(
        typed,
        phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164),
        extension,
        note=None if phonenumbers.is_valid_number(number) else _NO_SUCH,
    )


_EXTENSION_WORD = re.compile(r"(?i)(ext|extension|ext\.|;ext=|x|#|,|~)[\s:.=#]*(?=[0-9]+#?\s*$)")


def _loses_digits(typed: str, national: str, extension: str) -> bool:
    """Tell whether `typed` ends in digits that are neither number nor extension.

    The library drops a second number after a slash without a word.
    """
    kept = _EXTENSION_WORD.sub(" ", typed)
    digits = phonenumbers.normalize_digits_only(
        phonenumbers.convert_alpha_characters_in_number(kept)
    )
    return not digits.endswith(national + extension)
