"""Reading the text of a vehicle sheet: stricter than JSON readers are by habit. Pure."""

import json
import math
import re
from typing import Any, NoReturn

# Several times as deep as the sheet's schema goes.
DEEPEST = 60
TOO_DEEP = "is nested too deeply to be a vehicle sheet."
NO_TEXT = re.compile("[\0\ud800-\udfff]")


class SheetTextError(ValueError):
    """Text that cannot be a sheet; the message goes on from the file's name ("is not JSON: …")."""


def read_sheet_text(text: str) -> Any:
    """Return the value that the JSON text stands for; raise SheetTextError with a sentence.

    Refused besides what is not JSON: a name twice in one group (the first would be dropped without
    a word), NaN, Infinity and numbers beyond what can be reckoned with (they slip through every
    comparison), characters that no database stores as text, and endless nesting.
    """
    try:
        found = json.loads(
            text,
            object_pairs_hook=_group,
            parse_constant=_no_number,
            parse_float=_float,
            parse_int=_int,
        )
        _check(found)
    except json.JSONDecodeError as error:
        raise SheetTextError(
            f"is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
        ) from error
    except RecursionError as error:
        raise SheetTextError(TOO_DEEP) from error
    return found


def _group(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise SheetTextError(f"cannot be read: the name “{key}” stands twice in one group.")
        found[key] = value
    return found


def _no_number(text: str) -> NoReturn:
    raise SheetTextError(f"cannot be read: {text} is no number.")


def _float(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise SheetTextError(f"cannot be read: {text} is no number to reckon with.")
    return number


def _int(text: str) -> int:
    # A double's reach; the reader itself gives up on whole numbers of thousands of digits.
    _float(text)
    return int(text)


def _check(value: Any, depth: int = 0) -> None:
    """Refuse NUL and halves of characters, which an escape in JSON can write, and deep nests."""
    if depth > DEEPEST:
        raise SheetTextError(TOO_DEEP)
    if isinstance(value, dict):
        for key, inner in value.items():
            _check(key, depth + 1)
            _check(inner, depth + 1)
    elif isinstance(value, list):
        for inner in value:
            _check(inner, depth + 1)
    elif isinstance(value, str) and NO_TEXT.search(value):
        raise SheetTextError(
            "cannot be read: it holds a NUL or half a character, which no text has."
        )
