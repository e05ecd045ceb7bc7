"""How long a battery holds: the towed vehicle's in the tow state, the breakaway battery's.

Amps, amp-hours, hours and minutes. An estimate is only made from a draw that was measured or
is listed for the part; a guess is refused. A record of a flat battery overrides every sum.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from vehicles.domain.bands import Band, Held, Unknown, Verdict, at_least, band
from vehicles.domain.battery import RATED_HOURS, hours_band
from vehicles.domain.inputs import InputError, not_negative, number, positive, share
from vehicles.domain.limit_tables import PEUKERT
from vehicles.domain.limits import limit

_MINUTES = 60


class Origin(StrEnum):
    """Where a draw is known from."""

    MEASURED = "measured"
    LISTED = "listed"


@dataclass(frozen=True, slots=True)
class Draw:
    """What one consumer takes: `amps` (None: nobody knows) for a `duty` share of the time.

    Brake duty is such a share: a unit that pulls 8 A for 2 % of the way takes 0.16 A. Raises
    InputError for a duty outside 0 to 1 and for amps below 0.
    """

    what: str
    amps: Band | float | None
    origin: Origin = Origin.LISTED
    duty: float = 1.0

    def __post_init__(self) -> None:
        if not 0 <= number(f"duty of {self.what}", self.duty) <= 1:
            raise InputError(f"duty of {self.what}", f"{self.duty:g} is no share from 0 to 1.")
        if self.amps is not None:
            not_negative(f"current of {self.what}", band(self.amps).low)


@dataclass(frozen=True, slots=True)
class Endurance:
    """Hours in the tow state: `held` against the leg; `plain_h` is the bare arithmetic.

    `plain_h` divides usable amp-hours by amps and is what people reckon on a slip of paper; the
    band in `held` also has the battery's behaviour at that current. `words` say whether the
    estimate rests on measured or on listed draws.
    """

    held: Held
    net_a: Band | None
    plain_h: float | None
    words: str

    @property
    def verdict(self) -> Verdict:
        """Does it last for the leg?"""
        return self.held.verdict


def tow_hours(
    draws: Iterable[Draw],
    *,
    ah: Band | float | None,
    leg_h: float | None,
    charge_a: Band | float | None = 0.0,
    usable: float | None = None,
    exponent: Band | float = PEUKERT["flooded"],
    found_flat: bool = False,
) -> Endurance:
    """Estimate the hours that the towed vehicle's battery lasts in the tow state.

    `draws` are all that take current from it, brake duty included. `charge_a` is what the
    coach's charge line brings at these volts: 0 without a line, None where nobody measured it,
    which counts as nothing. `ah` is the 20-hour capacity, `usable` the share to plan with
    (default 0.5), `leg_h` the longest drive. UNKNOWN where a draw or the capacity is missing,
    FAIL where the battery was `found_flat` after towing.
    """
    listed = tuple(draws)
    what = "hours in the tow state"
    missing = _missing(listed, ah)
    net = None if missing else _net(listed, charge_a)
    if found_flat:
        words = "The battery was found flat after towing: that counts, whatever is reckoned."
        limit_h = None if leg_h is None else band(leg_h)
        return Endurance(
            Held(what, Verdict.FAIL, None, limit_h, "h", words=words), net, None, words
        )
    if net is None or ah is None:
        held = at_least(what, Unknown(missing), leg_h, unit="h", places=1)
        return Endurance(held, None, None, held.words)
    part = share("usable share", limit("usable_share") if usable is None else usable)
    capacity = band(ah)
    positive("capacity", capacity.low)
    hours = hours_band(net, ah=capacity, exponent=exponent, rated_hours=RATED_HOURS) * part
    leg = Unknown(("say how long the longest drive is",)) if leg_h is None else leg_h
    held = at_least(what, hours, leg, unit="h", places=1)
    plain = capacity.value * part / net.value if net.value > 0 else None
    return Endurance(held, net, plain, _words(listed, net, plain, held, charge_a))


def _missing(draws: tuple[Draw, ...], ah: Band | float | None) -> tuple[str, ...]:
    unmeasured = [f"measure the current of {draw.what}" for draw in draws if draw.amps is None]
    if not draws:
        unmeasured = ["measure the current at the battery in the tow state"]
    return (*unmeasured, *(("read the battery's amp-hours",) if ah is None else ()))


def _net(draws: tuple[Draw, ...], charge_a: Band | float | None) -> Band:
    total = Band(0.0, 0.0, 0.0)
    for draw in draws:
        if draw.amps is not None:
            total += band(draw.amps) * draw.duty
    charge = band(0.0 if charge_a is None else charge_a)
    not_negative("charging current", charge.low)
    net = total - charge
    # What the line brings beyond the draw fills the battery; it does not add hours twice.
    return Band(max(net.value, 0.0), max(net.low, 0.0), max(net.high, 0.0))


def _words(
    draws: tuple[Draw, ...],
    net: Band,
    plain: float | None,
    held: Held,
    charge_a: Band | float | None,
) -> str:
    origins = " and ".join(it.value for it in Origin if any(draw.origin is it for draw in draws))
    parts = [f"Estimate from {origins} draw, {net.words('A')} net."]
    if plain is None:
        parts.append("The charge line covers what is drawn.")
    else:
        parts.append(f"Plain arithmetic gives {plain:.1f} h; real batteries give less.")
    if charge_a is None:
        parts.append("The charge line's current was not measured and counts as nothing.")
    return " ".join([*parts, f"{held.words[:1].upper()}{held.words[1:]}"])


def breakaway_minutes(
    amps: Band | float | None,
    *,
    ah: Band | float | None,
    exponent: Band | float = PEUKERT["agm"],
    left: Band | float = 1.0,
    least: float | None = None,
) -> Held:
    """Reckon the minutes that a breakaway battery holds the brakes, against `least` (default 15).

    `amps` is what the brake draws while it holds, `ah` the battery's 20-hour rating, `left` the
    share of it that age and charge leave. A reckoning is no test: see `hold_test`.
    """
    wanted = positive("holding time", limit("hold_minutes") if least is None else least)
    missing = ("measure the brake's current while it holds",) * (amps is None) + (
        "read the breakaway battery's amp-hours",
    ) * (ah is None)
    what = "minutes of holding, reckoned"
    if amps is None or ah is None:
        return at_least(what, Unknown(missing), wanted, unit="min", places=1)
    part = band(left)
    share("share left", part.low)
    share("share left", part.high)
    hours = hours_band(amps, ah=band(ah) * part, exponent=exponent, rated_hours=RATED_HOURS)
    return at_least(what, hours * _MINUTES, wanted, unit="min", places=1)
