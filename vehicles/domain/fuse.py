"""Blade fuses: ratings, colours by size, and what a fuse has to carry.

Source of ratings and colours: a printed fuse chart (grainews.ca) that gives one column for
mini and regular blades and another for maxi. ISO 8820-3 was seen by its title only, so
nothing here is quoted from it.

A fuse does not hold the current down to its rating: from memory, it may carry a tenth more for
hours. The verdict below is therefore about the sum of loads, not about what will blow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

Amps = Decimal | int | float

# Starting value of a shop setting. Pages disagree: 0.80 for loads over three hours
# (building-code practice), 0.75 at 25 degrees C (a fuse maker's note, read as quoted elsewhere).
CONTINUOUS_SHARE = Decimal("0.80")


class BladeSize(StrEnum):
    """Blade sizes whose colours are known."""

    MINI = "mini"
    REGULAR = "regular"
    MAXI = "maxi"


class Load(StrEnum):
    """How a fuse stands against the loads behind it."""

    WITHIN = "within"
    NO_MARGIN = "no_margin"
    OVER = "over"
    UNKNOWN = "unknown"


def _by_rating(text: str) -> dict[Decimal, str]:
    pairs = (entry.split(" ", 1) for entry in text.split(", "))
    return {Decimal(rating): colour for rating, colour in pairs}


_SMALL = _by_rating(
    "1 black, 2 grey, 3 violet, 4 pink, 5 tan, 7.5 brown, 10 red, 15 blue, 20 yellow, "
    "25 clear, 30 green, 35 blue-green, 40 orange"
)
_LARGE = _by_rating(
    "20 yellow, 25 grey, 30 green, 35 brown, 40 orange, 50 red, 60 blue, 70 tan, 80 clear, "
    "100 violet, 120 purple"
)

COLOURS: dict[BladeSize, dict[Decimal, str]] = {
    BladeSize.MINI: _SMALL,
    BladeSize.REGULAR: _SMALL,
    BladeSize.MAXI: _LARGE,
}


def _decimal(value: Amps) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(str(value))


def standard_ratings(size: BladeSize) -> tuple[Decimal, ...]:
    """Return the ratings in amps that `size` is charted with, smallest first."""
    return tuple(COLOURS[size])


def colour_of(size: BladeSize, rating_a: Amps) -> str | None:
    """Return the body colour of a `rating_a` amp fuse of `size`, None if not charted."""
    return COLOURS[size].get(_decimal(rating_a))


def ratings_of_colour(colour: str) -> dict[BladeSize, Decimal]:
    """Return what `colour` means in amps for each blade size that has it.

    More than one value in the result means that the colour alone tells nothing
    (red: 10 A in mini and regular, 50 A in maxi), so the size has to be recorded too.
    """
    wanted = colour.strip().casefold()
    return {
        size: rating
        for size, chart in COLOURS.items()
        for rating, name in chart.items()
        if name == wanted
    }


@dataclass(frozen=True, slots=True)
class LoadVerdict:
    """The sum of loads behind a fuse, in amps, against its rating.

    `total_a` sums the known loads; `unknown` counts those without a figure. `margin_a`
    is rating minus total (negative: overloaded), None when the rating is not known.
    """

    load: Load
    total_a: Decimal
    rating_a: Decimal | None
    margin_a: Decimal | None
    unknown: int

    @property
    def words(self) -> str:
        """One sentence for a person."""
        rating = f"{self.rating_a} A fuse"
        match self.load:
            case Load.OVER:
                return f"{self.total_a} A on a {rating}: too much; give one load its own feed."
            case Load.UNKNOWN if self.rating_a is None:
                return f"{self.total_a} A on a fuse of unknown rating: read the fuse."
            case Load.UNKNOWN:
                return f"{self.unknown} of the loads on the {rating} not recorded: not proven."
            case Load.NO_MARGIN:
                return f"{self.total_a} A on a {rating}: no margin left."
            case Load.WITHIN:
                return f"{self.total_a} A on a {rating}: {self.margin_a} A left."


def load_verdict(
    rating_a: Amps | None,
    loads: Iterable[Amps | None],
    *,
    share: Decimal = CONTINUOUS_SHARE,
) -> LoadVerdict:
    """Compare the `loads` behind one fuse, in amps, with its `rating_a`.

    None stands for a figure that nobody recorded. OVER as soon as the known loads exceed the
    rating, even if others are missing; otherwise any missing figure gives UNKNOWN, never
    WITHIN. NO_MARGIN when the sum is above `share` of the rating (exactly at it is WITHIN).
    Raises ValueError for a negative load, a rating that is not positive, or a `share`
    outside 0 to 1.
    """
    if not 0 < share <= 1:
        raise ValueError("share must lie above 0 and at most at 1")
    figures = [None if load is None else _decimal(load) for load in loads]
    known = [figure for figure in figures if figure is not None]
    if any(figure < 0 for figure in known):
        raise ValueError("a load cannot be negative")
    total, unknown = sum(known, Decimal(0)), len(figures) - len(known)
    if rating_a is None:
        return LoadVerdict(Load.UNKNOWN, total, None, None, unknown)
    rating = _decimal(rating_a)
    if rating <= 0:
        raise ValueError("a fuse rating must be above 0")
    if total > rating:
        load = Load.OVER
    elif unknown:
        load = Load.UNKNOWN
    elif total > rating * share:
        load = Load.NO_MARGIN
    else:
        load = Load.WITHIN
    return LoadVerdict(load, total, rating, rating - total, unknown)
