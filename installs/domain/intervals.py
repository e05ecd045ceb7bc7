"""When the next look is due, and why.

A date is always worked out from the day it counts from, `anchor + n x months`, the day clamped
to the month's last (31 January + 1 month = 28 February). Never from the last result, which
would lose the 31st for good, and never by calendar recurrence rules: those skip months
without a 31st, and from 29 February wait four years.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

_MONTHS_A_YEAR = 12


class AnchorKind(StrEnum):
    """What a date counts from."""

    FITTED = "fitted"
    DONE = "done"
    DATE_CODE = "date_code"
    EVENT = "event"


class Counting(StrEnum):
    """Where the next turn counts from: the day it was done, or the same day every time."""

    FROM_DONE = "from_done"
    FIXED = "fixed"


@dataclass(frozen=True, slots=True)
class Interval:
    """How long until due: `months` after fitting or doing, `years_from_date_code` after making.

    Both may be set; whichever comes first counts. Raises ValueError for values below 1 and
    when neither is set.
    """

    months: int | None = None
    years_from_date_code: int | None = None

    def __post_init__(self) -> None:
        given = [value for value in (self.months, self.years_from_date_code) if value is not None]
        if not given or min(given) < 1:
            raise ValueError("an interval has months or years, each at least 1")


@dataclass(frozen=True, slots=True)
class Anchor:
    """The day that a date counts from, and what happened on it."""

    kind: AnchorKind
    on: date


@dataclass(frozen=True, slots=True)
class Due:
    """When, counted from what, and why in words. `turn` is the n of anchor + n x interval."""

    on: date
    anchor: Anchor
    reason: str
    turn: int = 1

    @property
    def key(self) -> str:
        """What the item is kept under: anchor and turn, never the computed date."""
        return f"{self.anchor.kind}:{self.anchor.on.isoformat()}:{self.turn}"


def add_months(day: date, months: int) -> date:
    """Return `day` moved by `months` (may be negative), clamped to the end of a shorter month."""
    years, month = divmod(day.year * _MONTHS_A_YEAR + day.month - 1 + months, _MONTHS_A_YEAR)
    last = calendar.monthrange(years, month + 1)[1]
    return date(years, month + 1, min(day.day, last))


def next_due(anchor: date, months: int, n: int = 1) -> date:
    """Return the `n`th due date: `anchor` + n x `months`, worked out in one step.

    Raises ValueError for months below 1 or n below 0 (n = 0 is the anchor itself).
    """
    if months < 1 or n < 0:
        raise ValueError("months must be at least 1 and n at least 0")
    return add_months(anchor, n * months)


_AFTER = {
    AnchorKind.FITTED: "it was first fitted on",
    AnchorKind.DONE: "it was last done on",
    AnchorKind.DATE_CODE: "the date code,",
}


def due_from(interval: Interval, anchor: Anchor, *, turn: int = 1) -> Due | None:
    """Return what falls due from one anchor, None where the interval says nothing about it.

    Fitted and done: after `months`, times `turn`. Date code: after the years, once, whatever was
    done meanwhile. Event: on the very day, because something changed.
    """
    if anchor.kind is AnchorKind.EVENT:
        return Due(anchor.on, anchor, f"because of what happened on {in_words(anchor.on)}")
    if anchor.kind is AnchorKind.DATE_CODE:
        years = interval.years_from_date_code
        if years is None:
            return None
        on, length, turn = add_months(anchor.on, years * _MONTHS_A_YEAR), _count(years, "year"), 1
    elif interval.months is None:
        return None
    else:
        on = next_due(anchor.on, interval.months, turn)
        length = _count(interval.months * turn, "month")
    return Due(on, anchor, f"{length} after {_AFTER[anchor.kind]} {in_words(anchor.on)}", turn)


def next_after_done(interval: Interval, due: Due, done_on: date, counting: Counting) -> Due | None:
    """Return the next turn once `due` was done on `done_on`; None when only a date code counts.

    FROM_DONE counts from the day it was done, early or late. FIXED keeps the anniversary of the
    anchor: the first turn after the one just done that lies after `done_on`, so turns missed
    meanwhile are passed over instead of piling up.
    """
    if interval.months is None:
        return None
    if counting is Counting.FROM_DONE or due.anchor.kind in (
        AnchorKind.DATE_CODE,
        AnchorKind.EVENT,
    ):
        return due_from(interval, Anchor(AnchorKind.DONE, done_on))
    missed = turns_missed(due.anchor.on, interval.months, due.turn, done_on)
    return due_from(interval, due.anchor, turn=due.turn + missed + 1)


def turns_missed(anchor: date, months: int, turn: int, today: date) -> int:
    """Return how many turns after `turn` have come due up to `today`.

    An item that was never done stays one overdue item; this tells how long it was let go.
    """
    missed = 0
    while next_due(anchor, months, turn + missed + 1) <= today:
        missed += 1
    return missed


def in_words(day: date) -> str:
    """Return `day` as `1 March 2026`, which no two countries read differently."""
    return f"{day.day} {calendar.month_name[day.month]} {day.year}"


def _count(number: int, unit: str) -> str:
    return f"{number} {unit}" if number == 1 else f"{number} {unit}s"
