"""Geometry between coach and car: rise of the bar, lengths in order, slack, the lanyard's eye.

Lengths are in millimetres. What is not measured is UNKNOWN and names the tape's place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from vehicles.domain.bands import (
    Band,
    Held,
    Unknown,
    Verdict,
    at_least,
    at_most,
    band,
    spread,
    worst,
)
from vehicles.domain.inputs import InputError, not_negative, number, positive
from vehicles.domain.limits import limit, limit_band

# The cables act first and the cord last; a shop may set another order.
LENGTH_ORDER = ("safety cables", "breakaway lanyard", "umbilical cord")


def bar_angle(rise_mm: float | None, length_mm: float | None) -> Band | Unknown:
    """Return the tow bar's angle to the level in degrees, for the height between its ends.

    `length_mm` is the bar's own length along it; the sign of the rise does not matter. Raises
    InputError for a rise that is not shorter than the bar.
    """
    missing = ("measure the height of both ends of the tow bar at ride height",) * (
        rise_mm is None
    ) + ("measure the length of the tow bar",) * (length_mm is None)
    if rise_mm is None or length_mm is None:
        return Unknown(missing)
    length, rise = positive("tow bar length", length_mm), abs(number("tow bar rise", rise_mm))
    if rise >= length:
        raise InputError("tow bar rise", f"{rise:g} mm is not shorter than the bar itself.")
    return band(math.degrees(math.asin(rise / length)))


def bar_level(
    rise_mm: float | None,
    length_mm: float | None,
    *,
    most_rise_mm: Band | float | None = None,
    most_deg: float | None = None,
) -> Held:
    """Hold the tow bar's angle in degrees against its limit.

    The limit is `most_deg`, or the angle at which this bar rises by `most_rise_mm`. Its starting
    value is a band, because what was read says "two to four inches": between the two the verdict
    is too close to call until the shop settles on one.
    """
    angle = bar_angle(rise_mm, length_mm)
    if isinstance(angle, Unknown) or length_mm is None:
        return at_most("tow bar's angle", angle, most_deg, unit="°", places=1)
    if most_deg is not None:
        return at_most(
            "tow bar's angle", angle, positive("limit of the angle", most_deg), unit="°", places=1
        )
    rise = limit_band("bar_rise_mm") if most_rise_mm is None else band(most_rise_mm)
    positive("limit of the rise", rise.low)
    most = spread(lambda mm: math.degrees(math.asin(min(1.0, mm / length_mm))), rise)
    return at_most("tow bar's angle", angle, most, unit="°", places=1)


@dataclass(frozen=True, slots=True)
class Order:
    """Lengths that must rise from one to the next; `pairs` holds a verdict for each step."""

    verdict: Verdict
    pairs: tuple[Held, ...]


def lengths_in_order(
    lengths_mm: Mapping[str, float | None], *, order: Sequence[str] = LENGTH_ORDER
) -> Order:
    """Check that free lengths in mm rise in `order`: cables, then lanyard, then cord.

    So the cables take the load before the pin is pulled, and the pin is out before the cord
    tears. Equal lengths fail. A length that is missing is UNKNOWN; two names that are not in
    `lengths_mm` are missing as well. Raises InputError for a length that is not above 0.
    """
    found = {
        name: None if mm is None else positive(f"length of the {name}", mm)
        for name, mm in lengths_mm.items()
    }
    pairs = []
    for shorter, longer in pairwise(order):
        what = f"{longer} longer than {shorter}"
        ask = tuple(
            f"measure the length of the {name}" for name in (shorter, longer) if not found.get(name)
        )
        one, two = found.get(shorter), found.get(longer)
        if one is None or two is None:
            words = f"{what}: unknown; {'; '.join(ask)}."
            pairs.append(Held(what, Verdict.UNKNOWN, None, None, "mm", None, ask, words))
            continue
        held = at_least(what, two, one, unit="mm", places=0)
        if two == one:
            held = Held(what, Verdict.FAIL, held.value, held.limit, "mm", held.margin, (),
                        f"{what}: both are {one:.0f} mm.")  # fmt: skip
        pairs.append(held)
    return Order(worst(held.verdict for held in pairs), tuple(pairs))


def slack(
    *,
    straight_mm: float | None,
    full_lock_mm: float | None,
    loop_mm: float | None,
    least_loop_mm: float | None = None,
) -> tuple[Held, Held]:
    """Judge a cable's slack: enough for full lock, and its loop clear of the ground.

    `straight_mm` is the slack with the combination straight, `full_lock_mm` what the tightest
    turn takes, `loop_mm` the height of the lowest point above the ground. Returns both verdicts,
    the turn first.
    """
    least = limit("loop_clearance_mm") if least_loop_mm is None else least_loop_mm
    have: float | Unknown = Unknown(("measure the slack with the combination straight",))
    if straight_mm is not None:
        have = not_negative("slack", straight_mm)
    need: float | Unknown = Unknown(("measure what the tightest turn takes",))
    if full_lock_mm is not None:
        need = not_negative("need at full lock", full_lock_mm)
    height: float | Unknown = Unknown(("measure the height of the loop's lowest point",))
    if loop_mm is not None:
        height = not_negative("height of the loop", loop_mm)
    return (
        at_least("slack at full lock", have, need, unit="mm", places=0),
        at_least(
            "loop above the ground",
            height,
            positive("least height of the loop", least),
            unit="mm",
            places=0,
        ),
    )


class Anchor(StrEnum):
    """Where the breakaway lanyard is hooked in on the motorhome."""

    FRAME_EYE = "an eye on the motorhome's frame"
    RECEIVER = "the receiver"
    BALL_MOUNT = "the ball mount"
    CABLE_HOOK = "a safety cable's hook"
    TOW_BAR = "the tow bar"


def anchor_verdict(anchor: Anchor | None) -> tuple[Verdict, str]:
    """Judge where the lanyard is hooked in: only the motorhome's own structure will do.

    Whatever can come off together with the hitch takes the lanyard along, and the pin stays in.
    Belongs to the motorhome, so it is asked again when that changes.
    """
    if anchor is None:
        return Verdict.UNKNOWN, "Look where the breakaway lanyard is hooked in on the motorhome."
    if anchor is Anchor.FRAME_EYE:
        return Verdict.PASS, f"The lanyard is on {anchor.value}."
    return (
        Verdict.FAIL,
        f"The lanyard is on {anchor.value}: if that comes off, the pin is not pulled. "
        "Hook it to the frame by itself.",
    )
