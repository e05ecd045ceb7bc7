"""The clock: instants in UTC, days as the shop's wall calendar shows them."""

from datetime import UTC, date, datetime

import pytest
import time_machine

from shop import clock


@pytest.mark.parametrize(
    ("instant", "day"),
    [
        (datetime(2026, 1, 10, 6, 30, tzinfo=UTC), date(2026, 1, 9)),  # 23:30 in Denver
        (datetime(2026, 1, 10, 7, 0, tzinfo=UTC), date(2026, 1, 10)),  # midnight there
        (datetime(2026, 3, 8, 5, 59, tzinfo=UTC), date(2026, 3, 7)),  # clocks go forward that night
        (datetime(2026, 11, 2, 6, 59, tzinfo=UTC), date(2026, 11, 1)),  # the day of 25 hours
        (datetime(2026, 7, 1, 5, 59, tzinfo=UTC), date(2026, 6, 30)),  # six hours in summer
    ],
)
def test_today_is_the_shops_day(instant: datetime, day: date) -> None:
    with time_machine.travel(instant, tick=False):
        assert clock.today() == day
        assert clock.now() == instant
        assert clock.now().utcoffset().total_seconds() == 0
