"""Reading the date code marked on a part: when it was made."""

from __future__ import annotations

import re
from datetime import date

_EARLIEST = 1970
_CENTURY = 2000
_LAST_MONTH = 12

_DAY = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})")
_MONTH = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})")
_MONTH_FIRST = re.compile(r"([0-9]{1,2})[-/.]([0-9]{4})")
_WEEK = re.compile(r"([0-9]{4})-?W([0-9]{2})")
_FOUR_DIGITS = re.compile(r"[0-9]{4}")


class DateCodeError(ValueError):
    """The text is no date code; `str()` of it is a sentence for the person."""


class AmbiguousDateCodeError(DateCodeError):
    """Several dates are meant by it; `choices` are (text to enter instead, its first day)."""

    def __init__(self, sentence: str, choices: tuple[tuple[str, date], ...]) -> None:
        super().__init__(sentence)
        self.choices = choices


def parse_date_code(text: str, *, today: date) -> date:
    """Return the first day that a date code covers: the cautious end of a month or week.

    Takes `2024-03`, `03/2024`, `2024-03-15` and `2024-W07`. Four digits in a row are asked about,
    since makers write year and week, week and year, or year and month (AmbiguousDateCodeError).
    A date after `today`, before 1970 or not in the calendar raises DateCodeError.
    """
    marked = text.strip().upper()
    if _FOUR_DIGITS.fullmatch(marked):
        raise _question(marked, today)
    try:
        made = _read(marked)
    except ValueError:
        raise DateCodeError(f"“{text.strip()}” is not in the calendar.") from None
    if made is None:
        raise DateCodeError("Write the date code as year and month, such as 2024-03, or 2024-W07.")
    if made > today:
        raise DateCodeError(f"“{text.strip()}” lies in the future; read the mark again.")
    if made.year < _EARLIEST:
        raise DateCodeError(f"“{text.strip()}” is too long ago; read the mark again.")
    return made


def _read(marked: str) -> date | None:
    """Return the first day, None for another form; ValueError when not in the calendar."""
    if match := _DAY.fullmatch(marked):
        return date(int(match[1]), int(match[2]), int(match[3]))
    if match := _MONTH.fullmatch(marked):
        return date(int(match[1]), int(match[2]), 1)
    if match := _MONTH_FIRST.fullmatch(marked):
        return date(int(match[2]), int(match[1]), 1)
    if match := _WEEK.fullmatch(marked):
        return date.fromisocalendar(int(match[1]), int(match[2]), 1)
    return None


def _question(marked: str, today: date) -> DateCodeError:
    head, tail = marked[:2], marked[2:]
    readings = [f"{_CENTURY + int(head)}-W{tail}", f"{_CENTURY + int(tail)}-W{head}"]
    if 1 <= int(tail) <= _LAST_MONTH:
        readings.append(f"{_CENTURY + int(head)}-{tail}")
    choices = []
    for reading in dict.fromkeys(readings):
        try:
            choices.append((reading, parse_date_code(reading, today=today)))
        except DateCodeError:
            continue
    if not choices:
        return DateCodeError(f"“{marked}” is no year with a week or month up to today.")
    offered = " or ".join(reading for reading, _ in choices)
    return AmbiguousDateCodeError(
        f"“{marked}” can be read in several ways. Enter {offered}, as the maker means it.",
        tuple(choices),
    )
