"""From a rule and what it counts from to a due date, and from that to what is said when.

Month arithmetic is that of `installs.domain.intervals`; here it meets the keys of the items, the
days of contact and the words in which a silence is explained.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from installs.domain.intervals import (
    Anchor,
    AnchorKind,
    Counting,
    Due,
    Interval,
    due_from,
    in_words,
    next_after_done,
)

_WEEK = 7
# How the keys of two sorts of items begin that no interval makes.
FAILED, NOT_TOWED = "failed:", "not_towed:"


@dataclass(frozen=True, slots=True)
class Terms:
    """The figures of a rule. `fixed` keeps the day of the year whatever was done when."""

    trigger: str
    months: int | None
    years: int | None
    fixed: bool
    lead_days: int
    repeat_days: int
    mails_max: int


@dataclass(frozen=True, slots=True)
class Look:
    """An inspection that came to a result: its number, its day, good or not.

    `came` says in words what came of a bad one ("did nothing", "was stiff"), `grave` that the
    vehicle must not be towed like this.
    """

    id: int
    on: date
    good: bool = True
    came: str = ""
    grave: bool = False

    @property
    def order(self) -> tuple[date, int]:
        """The order in which looks count: by day, then by number."""
        return self.on, self.id


@dataclass(frozen=True, slots=True)
class Planned:
    """What falls due. `key` names what it counts from and never holds a computed date.

    After a bad look `failed` is that look, and `instead_of` the key of the turn that waits
    meanwhile.
    """

    key: str
    anchor_on: date
    due_on: date
    reason: str
    failed: Look | None = None
    instead_of: str = ""


@dataclass(frozen=True, slots=True)
class Contact:
    """The next day on which something is to be said, None for never; `silence` tells why not."""

    on: date | None
    silence: str = ""


def plan_by_months(
    terms: Terms, *, fitting_id: int, fitted_on: date, looks: Sequence[Look]
) -> Planned:
    """Return what falls due so many months after the last good inspection or the first fitting.

    `fitting_id` is where the part sits now, `fitted_on` the day it was fitted for the first time
    anywhere: a part ages wherever it is, so moving it starts nothing afresh. `looks` are its own,
    on whatever vehicle. With fixed counting a good look counts for a turn from the day of its
    first mail on; one that is earlier than that leaves the turn standing, because the gap to the
    next one would be longer than the interval.

    Where the latest look is bad, the part is due at once: from the day of the first bad look since
    the last good one, so that a second one starts nothing afresh. The next good look, the cure,
    ends that and counts like any other.
    """
    interval = Interval(months=terms.months)
    due = _sure(due_from(interval, Anchor(AnchorKind.FITTED, fitted_on)))
    key = f"fitted:{fitting_id}"
    counting = Counting.FIXED if terms.fixed else Counting.FROM_DONE
    bad: list[Look] = []
    for look in sorted(looks, key=lambda look: look.order):
        if not look.good:
            bad.append(look)
            continue
        bad.clear()
        too_early = terms.fixed and look.on < due.on - timedelta(days=terms.lead_days)
        if not too_early:
            due = _sure(next_after_done(interval, due, look.on, counting))
            key = f"inspection:{look.id}"
    if bad:
        return _due_at_once(bad, instead_of=key)
    return Planned(key, due.anchor.on, due.on, due.reason)


def _due_at_once(bad: Sequence[Look], *, instead_of: str) -> Planned:
    first, last = bad[0], bad[-1]
    since = f", first on {in_words(first.on)}" if last.on > first.on else ""
    reason = f"{last.came} when looked at on {in_words(last.on)}{since}; cure it and look again"
    return Planned(
        f"{FAILED}{first.id}", first.on, first.on, reason, failed=last, instead_of=instead_of
    )


def cured_by(looks: Sequence[Look], *, first_bad: int, since: date) -> Look | None:
    """Return the look that cured the trouble that began with that bad one; None where none did."""
    good = [look for look in looks if look.good and look.order >= (since, first_bad)]
    return min(good, key=lambda look: look.order, default=None)


def plan_not_towed(*, revision_id: int, source: str, noticed_on: date) -> Planned:
    """Return what is to be said of a vehicle whose procedure forbids towing it on its wheels."""
    return Planned(f"{NOT_TOWED}{revision_id}", noticed_on, noticed_on, f"source: {source}")


def plan_by_date_code(
    terms: Terms, *, fitting_id: int, fitted_on: date, date_code: date | None
) -> Planned:
    """Return when the part is too old; without a date code counted from its first fitting."""
    interval = Interval(years_from_date_code=terms.years)
    due = _sure(due_from(interval, Anchor(AnchorKind.DATE_CODE, date_code or fitted_on)))
    reason = due.reason
    if date_code is None:
        reason = (
            f"{terms.years} years after it was first fitted on {in_words(fitted_on)}; "
            "its date code is not recorded, so it may be older"
        )
    return Planned(f"date_code:{fitting_id}", due.anchor.on, due.on, reason)


def plan_by_event(*, reverification_id: int, opened_on: date, cause: str) -> Planned:
    """Return what falls due at once because something changed."""
    reason = f"{cause} ({in_words(opened_on)})"
    return Planned(f"reverify:{reverification_id}", opened_on, opened_on, reason)


def next_contact(
    terms: Terms,
    *,
    due_on: date,
    mails: int,
    last_mail_on: date | None,
    today: date,
    unreachable: str = "",
    booked_for: date | None = None,
    snoozed_until: date | None = None,
) -> Contact:
    """Return when to say it (again), never before `today`.

    `mails` counts what this owner was sent, `unreachable` is why no mail can be sent at all. A
    booked item comes up on the day after the visit, in case it did not take place.
    """
    if booked_for is not None:
        return Contact(booked_for + timedelta(days=1), f"Booked for {in_words(booked_for)}.")
    if unreachable:
        return Contact(None, unreachable)
    if mails >= terms.mails_max:
        return Contact(None, _said_enough(mails))
    on = due_on - timedelta(days=terms.lead_days)
    if mails and last_mail_on is not None:
        on = max(on, last_mail_on + timedelta(days=terms.repeat_days))
    on = max(on, today)
    if snoozed_until is not None and snoozed_until > on:
        return Contact(snoozed_until, f"Put off until {in_words(snoozed_until)}.")
    return Contact(on)


def _said_enough(mails: int) -> str:
    if mails == 0:
        return "The rule sends no mail; the desk phones."
    times = "once" if mails == 1 else f"{mails} times"
    return f"Said {times} by mail; the desk phones now."


def rule_sentence(terms: Terms, *, part: str, check: str) -> str:
    """Return the rule as its owner reads it."""
    if terms.trigger == "event":
        when = "whenever the proof no longer stands"
        what = f"{part or 'Vehicle'}: {check or 'prove it again'} {when}"
        first = "first mail at once"
    elif terms.trigger == "date_code":
        what = f"{part}: {check or 'replace'} {terms.years} years after its date code"
        first = f"first mail {_days(terms.lead_days)} before"
    else:
        counted = (
            "counted from its first fitting, on the same day each time"
            if terms.fixed
            else "from the last time, or from its first fitting where there was none"
        )
        what = f"{part}: {check} every {_count(terms.months or 0, 'month')} {counted}"
        first = f"first mail {_days(terms.lead_days)} before"
    if terms.mails_max == 0:
        return f"{what}; no mail, the desk phones."
    again = f", then every {_days(terms.repeat_days)}" if terms.mails_max > 1 else ""
    return f"{what}; {first}{again}, at most {terms.mails_max}; after that the desk phones."


def _days(days: int) -> str:
    if days and days % _WEEK == 0:
        return _count(days // _WEEK, "week")
    return _count(days, "day")


def _count(number: int, unit: str) -> str:
    return f"{number} {unit}" if number == 1 else f"{number} {unit}s"


def _sure(due: Due | None) -> Due:
    """Return `due`, which is never None for an interval and an anchor of the same sort."""
    if due is None:
        raise ValueError("the rule has no interval for what it counts from")
    return due
