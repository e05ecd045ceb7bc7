"""When a message may go out: sending hours on the recipient's own clock.

The hours are given as the window in which sending is allowed; quiet hours 21:00 to 08:00 are
the window 08:00 to 21:00. The window may itself run across midnight.

Trade rules say 8 in the morning to 9 in the evening where the called person is (47 CFR
64.1200(c)(1), on calls); the shop's own window is narrower and a setting.
"""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

# The clocks of the lower 48 states: Arizona keeps its hour when the others change theirs.
LOWER_48 = (
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",
    "America/Los_Angeles",
)
_DAYS_TO_TRY = 3


def known_zone(name: str | None) -> ZoneInfo | None:
    """Return the time zone of that name, None for an empty or unknown one."""
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def is_open(moment: time, start: time, end: time) -> bool:
    """Tell whether a wall clock's `moment` lies in the window: `start` belongs to it, `end` not.

    `start` after `end` runs across midnight; equal ones mean the whole day.
    """
    if start == end:
        return True
    if start < end:
        return start <= moment < end
    return moment >= start or moment < end


def next_allowed(instant: datetime, zone: str | None, start: time, end: time) -> datetime:
    """Return the first instant (UTC) from `instant` on that lies in the recipient's window.

    `instant` is aware. `zone` is a zone name; None, or a name nobody knows, stands for a
    recipient somewhere in the lower 48 states, for whom the window must be open on all their clocks
    at once (08:00 to 20:00 becomes 11:00 to 20:00 Eastern). Right on both days when clocks
    change. Raises ValueError for a naive instant, and when no moment suits all the clocks.
    """
    if instant.tzinfo is None:
        raise ValueError("next_allowed() needs an aware instant")
    zone_known = known_zone(zone)
    clocks = [zone_known] if zone_known else [ZoneInfo(name) for name in LOWER_48]
    moment = instant.astimezone(UTC)
    latest = moment + timedelta(days=_DAYS_TO_TRY)
    while moment < latest:
        # Each clock can only push forward; once none does, all of them are open.
        pushed = max(_opening(moment, clock, start, end) for clock in clocks)
        if pushed == moment:
            return moment
        moment = pushed
    raise ValueError(f"no moment between {start} and {end} suits all clocks of the lower 48")


def _opening(instant: datetime, clock: ZoneInfo, start: time, end: time) -> datetime:
    """Return `instant` if the window is open on `clock`, else when it opens next."""
    local = instant.astimezone(clock)
    if is_open(local.time(), start, end):
        return instant
    today = local.date()
    openings = (
        datetime.combine(day, start.replace(fold=fold), clock).astimezone(UTC)
        for day in (today, today + timedelta(days=1))
        for fold in (0, 1)
    )
    # A start that clocks skip or show twice gives two candidates; only an open one will do.
    return min(
        moment
        for moment in openings
        if moment > instant and is_open(moment.astimezone(clock).time(), start, end)
    )
