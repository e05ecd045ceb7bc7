"""Month arithmetic against dateutil, with the traps of recurrence rules shown beside it.

Sources: RFC 5545, section 3.3.10, read as quoted by others: instances on dates that do not
exist are skipped. dateutil 2.9 is the second opinion, both for clamping (relativedelta) and for
showing what such recurrence rules would do to a service interval.
"""

from __future__ import annotations

from datetime import date, datetime
from itertools import islice

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import MONTHLY, YEARLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from installs.domain.intervals import add_months, next_due

days = st.dates(date(1980, 1, 1), date(2100, 12, 31))


@given(days, st.integers(1, 60), st.integers(0, 40))
def test_same_as_dateutil_from_the_anchor(anchor: date, months: int, n: int) -> None:
    assert next_due(anchor, months, n) == anchor + relativedelta(months=months * n)


@given(days, st.integers(-900, 900))
def test_same_as_dateutil_in_both_directions(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


@pytest.mark.parametrize(
    ("anchor", "months", "due"),
    [
        # Computed with dateutil 2.9 beforehand.
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2023, 8, 31), 6, date(2024, 2, 29)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
    ],
)
def test_days_that_the_month_lacks_are_clamped(anchor: date, months: int, due: date) -> None:
    assert next_due(anchor, months) == due


def test_monthly_from_the_31st_comes_back_to_the_31st() -> None:
    seen = [next_due(date(2024, 1, 31), 1, n) for n in range(1, 6)]
    assert seen == [
        date(2024, 2, 29),
        date(2024, 3, 31),
        date(2024, 4, 30),
        date(2024, 5, 31),
        date(2024, 6, 30),
    ]


def test_counting_from_the_last_result_would_drift() -> None:
    chained, day = [], date(2026, 1, 31)
    for _ in range(4):
        day += relativedelta(months=1)
        chained.append(day.day)
    assert chained == [28, 28, 28, 28]
    assert [next_due(date(2026, 1, 31), 1, n).day for n in range(1, 5)] == [28, 31, 30, 31]


def test_recurrence_rules_would_skip_short_months() -> None:
    # RFC 5545, 3.3.10, as quoted: dates that do not exist are ignored and not counted.
    by_rule = rrule(MONTHLY, dtstart=datetime(2026, 1, 31), count=5)
    assert [day.month for day in by_rule] == [1, 3, 5, 7, 8]
    assert [next_due(date(2026, 1, 31), 1, n).month for n in range(5)] == [1, 2, 3, 4, 5]


def test_recurrence_rules_would_let_a_leap_day_wait_four_years() -> None:
    by_rule = rrule(YEARLY, dtstart=datetime(2024, 2, 29))
    assert [day.year for day in islice(by_rule, 3)] == [2024, 2028, 2032]
    ours = [next_due(date(2024, 2, 29), 12, n) for n in range(1, 5)]
    assert ours[0] == date(2025, 2, 28)
    assert ours[3] == date(2028, 2, 29)


@given(days, st.integers(1, 24), st.integers(0, 20))
def test_turns_come_in_order_and_never_two_in_a_month(anchor: date, months: int, n: int) -> None:
    earlier, later = next_due(anchor, months, n), next_due(anchor, months, n + 1)
    assert (later.year - earlier.year) * 12 + later.month - earlier.month == months
