"""When the next look is due: clamped, counted from its anchor, one item at a time."""

from __future__ import annotations

from datetime import date

import pytest

from installs.domain.intervals import (
    Anchor,
    AnchorKind,
    Counting,
    Due,
    Interval,
    due_from,
    in_words,
    next_after_done,
    next_due,
    turns_missed,
)

YEARLY = Interval(months=12)
FITTED = Anchor(AnchorKind.FITTED, date(2025, 3, 1))


def first_due(interval: Interval = YEARLY, anchor: Anchor = FITTED) -> Due:
    due = due_from(interval, anchor)
    assert due is not None
    return due


def test_due_says_when_from_what_and_why() -> None:
    due = first_due()
    assert due.on == date(2026, 3, 1)
    assert due.anchor == FITTED
    assert due.reason == "12 months after it was first fitted on 1 March 2025"


@pytest.mark.parametrize(
    ("done_on", "from_done"),
    [(date(2026, 2, 10), date(2027, 2, 10)), (date(2026, 5, 20), date(2027, 5, 20))],
)
def test_done_early_or_late_moves_the_next_unless_the_calendar_is_fixed(
    done_on: date, from_done: date
) -> None:
    due = first_due()
    moved = next_after_done(YEARLY, due, done_on, Counting.FROM_DONE)
    fixed = next_after_done(YEARLY, due, done_on, Counting.FIXED)
    assert moved is not None
    assert moved.on == from_done
    assert moved.anchor == Anchor(AnchorKind.DONE, done_on)
    assert fixed is not None
    assert fixed.on == date(2027, 3, 1)
    assert fixed.anchor == FITTED


def test_fixed_calendar_keeps_its_anniversary_over_missed_turns() -> None:
    after = next_after_done(YEARLY, first_due(), date(2029, 5, 20), Counting.FIXED)
    assert after is not None
    assert after.on == date(2030, 3, 1)


def test_fixed_calendar_done_on_the_day_of_a_later_turn_goes_to_the_one_after() -> None:
    after = next_after_done(YEARLY, first_due(), date(2027, 3, 1), Counting.FIXED)
    assert after is not None
    assert after.on == date(2028, 3, 1)


def test_fixed_calendar_from_the_31st_does_not_drift() -> None:
    monthly = Interval(months=1)
    due = first_due(monthly, Anchor(AnchorKind.FITTED, date(2024, 1, 31)))
    seen = [due.on]
    for _ in range(3):
        following = next_after_done(monthly, due, due.on, Counting.FIXED)
        assert following is not None
        due = following
        seen.append(due.on)
    assert seen == [date(2024, 2, 29), date(2024, 3, 31), date(2024, 4, 30), date(2024, 5, 31)]


def test_half_yearly_pin_test_skipped_for_years_is_one_overdue_item() -> None:
    half_yearly, last_done = Interval(months=6), date(2023, 8, 15)
    due = first_due(half_yearly, Anchor(AnchorKind.DONE, last_done))
    assert due.on == date(2024, 2, 15)
    assert turns_missed(last_done, 6, due.turn, date(2026, 2, 20)) == 4
    # After the cure on that day, the next is six months from it.
    after = next_after_done(half_yearly, due, date(2026, 2, 20), Counting.FROM_DONE)
    assert after is not None
    assert after.on == date(2026, 8, 20)


@pytest.mark.parametrize(
    ("today", "missed"),
    [(date(2027, 2, 28), 0), (date(2027, 3, 1), 1), (date(2030, 3, 1), 4)],
)
def test_a_turn_counts_as_missed_on_its_very_day(today: date, missed: int) -> None:
    assert turns_missed(date(2025, 3, 1), 12, 1, today) == missed


def test_date_code_counts_years_once() -> None:
    due = first_due(
        Interval(months=12, years_from_date_code=4),
        Anchor(AnchorKind.DATE_CODE, date(2022, 6, 1)),
    )
    assert (due.on, due.turn) == (date(2026, 6, 1), 1)
    assert due.reason == "4 years after the date code, 1 June 2022"


def test_event_is_due_at_once() -> None:
    due = first_due(anchor=Anchor(AnchorKind.EVENT, date(2025, 5, 12)))
    assert due.on == date(2025, 5, 12)
    assert "happened on 12 May 2025" in due.reason
    after = next_after_done(YEARLY, due, date(2025, 5, 20), Counting.FIXED)
    assert after is not None
    assert after.on == date(2026, 5, 20)


def test_an_interval_says_nothing_about_other_anchors() -> None:
    assert due_from(YEARLY, Anchor(AnchorKind.DATE_CODE, date(2022, 6, 1))) is None
    by_age = Interval(years_from_date_code=4)
    assert due_from(by_age, FITTED) is None
    aged = first_due(by_age, Anchor(AnchorKind.DATE_CODE, date(2022, 6, 1)))
    assert next_after_done(by_age, aged, date(2026, 6, 1), Counting.FROM_DONE) is None


def test_items_are_kept_under_anchor_and_turn_not_under_their_date() -> None:
    due = first_due()
    assert due.key == "fitted:2025-03-01:1"
    again = next_after_done(YEARLY, due, date(2026, 3, 1), Counting.FIXED)
    assert again is not None
    assert again.key == "fitted:2025-03-01:2"
    assert first_due(Interval(months=6)).key == due.key


@pytest.mark.parametrize(("months", "years"), [(None, None), (0, None), (12, 0), (-1, None)])
def test_an_interval_without_length_is_refused(months: int | None, years: int | None) -> None:
    with pytest.raises(ValueError, match="at least 1"):
        Interval(months, years)


@pytest.mark.parametrize(("months", "n"), [(0, 1), (12, -1)])
def test_turns_without_length_are_refused(months: int, n: int) -> None:
    with pytest.raises(ValueError, match="at least"):
        next_due(date(2025, 1, 1), months, n)


def test_dates_and_lengths_in_words() -> None:
    assert in_words(date(2026, 3, 1)) == "1 March 2026"
    assert first_due(Interval(months=1)).reason.startswith("1 month after")
    aged = due_from(
        Interval(years_from_date_code=1), Anchor(AnchorKind.DATE_CODE, date(2025, 1, 1))
    )
    assert aged is not None
    assert aged.reason.startswith("1 year after")
