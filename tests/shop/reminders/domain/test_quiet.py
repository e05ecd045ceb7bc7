"""Sending hours on the recipient's clock.

47 CFR 64.1200(c)(1), read: calls at 8 a.m. to 9 p.m. local time of the person called; it is for
calls, taken over here for mails. Zone rules come from the time zone database of the system.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.reminders.domain.quiet import LOWER_48, is_open, known_zone, next_allowed

EIGHT, NINE, TWENTY, TWENTY_ONE = time(8), time(9), time(20), time(21)
EASTERN = "America/New_York"


def local(zone: str, year: int, month: int, day: int, hour: int, minute: int) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=ZoneInfo(zone))


def test_quiet_hours_across_midnight_are_one_window() -> None:
    late = local("America/Denver", 2026, 7, 1, 23, 10)
    early = local("America/Denver", 2026, 7, 2, 3, 0)
    morning = local("America/Denver", 2026, 7, 2, 8, 0)
    assert next_allowed(late, "America/Denver", EIGHT, TWENTY_ONE) == morning
    assert next_allowed(early, "America/Denver", EIGHT, TWENTY_ONE) == morning


def test_the_quiet_end_itself_is_sending_time_and_the_start_is_not() -> None:
    eight = local(EASTERN, 2026, 7, 2, 8, 0)
    assert next_allowed(eight, EASTERN, EIGHT, TWENTY_ONE) == eight
    nine_in_the_evening = local(EASTERN, 2026, 7, 2, 21, 0)
    assert next_allowed(nine_in_the_evening, EASTERN, EIGHT, TWENTY_ONE) == eight + timedelta(1)


@pytest.mark.parametrize(
    ("day", "utc_hour"),
    [
        (date(2026, 3, 7), 14),
        (date(2026, 3, 8), 13),  # clocks went forward in the night
        (date(2026, 10, 31), 13),
        (date(2026, 11, 1), 14),  # clocks went back in the night
    ],
)
def test_nine_in_the_morning_stays_nine_on_the_days_clocks_change(day: date, utc_hour: int) -> None:
    due = datetime.combine(day, time(0, 5), ZoneInfo(EASTERN))
    sent = next_allowed(due, EASTERN, NINE, TWENTY)
    assert sent == datetime(day.year, day.month, day.day, utc_hour, tzinfo=UTC)
    # Once sent, the same day gives no second opening.
    assert next_allowed(sent, EASTERN, NINE, TWENTY) == sent


@pytest.mark.parametrize("zone", [None, "", "Nowhere/Town", "../etc/passwd", "America"])
def test_unknown_zone_waits_until_the_hour_is_right_in_all_of_the_lower_48(
    zone: str | None,
) -> None:
    due = local(EASTERN, 2026, 7, 1, 6, 0)
    assert next_allowed(due, zone, EIGHT, TWENTY) == local(EASTERN, 2026, 7, 1, 11, 0)
    last = local(EASTERN, 2026, 7, 1, 19, 59)
    assert next_allowed(last, zone, EIGHT, TWENTY) == last
    over = local(EASTERN, 2026, 7, 1, 20, 0)
    assert next_allowed(over, zone, EIGHT, TWENTY) == local(EASTERN, 2026, 7, 2, 11, 0)


def test_half_past_ten_in_the_east_is_too_early_in_the_west() -> None:
    due = local(EASTERN, 2026, 7, 1, 10, 30)
    assert due.astimezone(ZoneInfo("America/Los_Angeles")).time() == time(7, 30)
    assert due.astimezone(ZoneInfo("America/Phoenix")).time() == time(7, 30)
    assert next_allowed(due, None, EIGHT, TWENTY_ONE) == local(EASTERN, 2026, 7, 1, 11, 0)


@pytest.mark.parametrize("day", [date(2026, 1, 15), date(2026, 3, 8), date(2026, 11, 1)])
def test_unknown_zone_in_winter_and_on_the_days_clocks_change(day: date) -> None:
    due = datetime.combine(day, time(5), ZoneInfo(EASTERN))
    assert next_allowed(due, None, EIGHT, TWENTY) == datetime.combine(
        day, time(11), ZoneInfo(EASTERN)
    )


def test_a_window_too_short_for_all_clocks_is_refused() -> None:
    due = local(EASTERN, 2026, 7, 1, 6, 0)
    with pytest.raises(ValueError, match="suits all clocks"):
        next_allowed(due, None, EIGHT, time(10))
    assert next_allowed(due, EASTERN, EIGHT, time(10)) == local(EASTERN, 2026, 7, 1, 8, 0)


def test_a_window_may_run_across_midnight() -> None:
    noon = local(EASTERN, 2026, 7, 1, 12, 0)
    assert next_allowed(noon, EASTERN, TWENTY, time(2)) == local(EASTERN, 2026, 7, 1, 20, 0)
    night = local(EASTERN, 2026, 7, 2, 1, 30)
    assert next_allowed(night, EASTERN, TWENTY, time(2)) == night


def test_equal_ends_mean_that_no_hour_is_quiet() -> None:
    night = local(EASTERN, 2026, 7, 2, 3, 0)
    assert next_allowed(night, EASTERN, EIGHT, EIGHT) == night


def test_a_start_that_clocks_skip_or_show_twice() -> None:
    half_past_two, half_past_one = time(2, 30), time(1, 30)
    skipped = local(EASTERN, 2026, 3, 8, 1, 0)
    assert next_allowed(skipped, EASTERN, half_past_two, TWENTY) == local(
        EASTERN, 2026, 3, 8, 3, 30
    )
    # 01:10 for the second time: the first 01:30 is gone, the second is still to come.
    again = datetime(2026, 11, 1, 6, 10, tzinfo=UTC)
    assert next_allowed(again, EASTERN, half_past_one, TWENTY) == again + timedelta(minutes=20)


def test_naive_instants_are_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        next_allowed(datetime(2026, 7, 1, 12), EASTERN, EIGHT, TWENTY)


@given(
    st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC)),
    st.sampled_from(
        [None, *LOWER_48, "Pacific/Honolulu", "America/St_Johns", "Australia/Lord_Howe"]
    ),
    st.integers(0, 23),
    st.integers(4, 20),
)
def test_what_comes_out_is_open_not_earlier_and_soon(
    instant: datetime, zone: str | None, start_hour: int, length: int
) -> None:
    start, end = time(start_hour), time((start_hour + length) % 24)
    sent = next_allowed(instant, zone, start, end)
    assert instant <= sent <= instant + timedelta(hours=49)
    clocks = [known_zone(zone)] if zone else [ZoneInfo(name) for name in LOWER_48]
    assert all(is_open(sent.astimezone(clock).time(), start, end) for clock in clocks)
    assert next_allowed(sent, zone, start, end) == sent
