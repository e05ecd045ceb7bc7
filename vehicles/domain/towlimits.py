"""The limits while towed, as short texts: in the source's units, or in both.

The other unit is rounded to the careful side: a top speed of 65 mph is 104 km/h and not 105.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from vehicles.domain.procedure import Limits

# 1 international mile = 1.609344 km, exactly (1959 agreement, from memory).
KM_PER_MILE = 1.609344


def texts(limits: Limits, *, both_units: bool = False) -> Iterator[str]:
    """Yield each limit as a short text, none for what the source does not limit."""

    def also(miles: float, unit: str) -> str:
        return f" ({math.floor(miles * KM_PER_MILE)} {unit})" if both_units else ""

    if limits.max_speed_mph:
        yield f"at most {limits.max_speed_mph:g} mph{also(limits.max_speed_mph, 'km/h')}"
    if limits.max_distance_mi:
        yield f"at most {limits.max_distance_mi:g} miles{also(limits.max_distance_mi, 'km')}"
    if limits.engine_run_every_h:
        minutes = f"{limits.engine_run_minutes:g} minutes " if limits.engine_run_minutes else ""
        yield f"run the engine {minutes}every {limits.engine_run_every_h:g} h"
    elif limits.engine_run_minutes:
        yield f"run the engine {limits.engine_run_minutes:g} minutes"
    if limits.daily_repeat:
        yield "do it all again every day"
    if limits.direction:
        yield limits.direction
