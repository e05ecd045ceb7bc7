"""Blade fuses: ratings, colours by size, and what a fuse has to carry.

Source of ratings and colours: a printed fuse chart (grainews.ca) that gives one column for
mini and regular blades and another for maxi. ISO 8820-3 was seen by its title only, so
nothing here is quoted from it.

A fuse does not hold the current down to its rating: from memory, it may carry a tenth more for
hours. The verdicts below are therefore about sums of loads, not about what will blow.

A fuse is right only between two sides: it must bear its lasting load with some room
(load / share <= fuse), and it must give way before the wire behind it (fuse <= what the wire
may carry). Where no rating lies between them the wire is too small; a bigger fuse never is
the answer to that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from vehicles.domain.bands import Band, Verdict, at_least, at_most, band, worst
from vehicles.domain.inputs import InputError, not_negative, positive
from vehicles.domain.inputs import share as as_share

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


class Side(StrEnum):
    """Which side of the two-sided rule a fuse is on."""

    FITS = "fits"
    FUSE_TOO_SMALL = "fuse too small"
    FUSE_TOO_LARGE = "fuse too large"
    WIRE_TOO_SMALL = "wire too small"
    CLOSE = "too close to call"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class FuseVerdict:
    """A fuse between its load and its wire, all in amps.

    `least_a` is load / share, `most_a` the least of what wire and socket may carry; each is
    None where not recorded. `load_margin_a` and `wire_margin_a` are the room on either side of
    the fitted fuse, negative where there is none. `ratings` are the standard ratings that would
    do. `measure` says what is missing, the deciding thing first.
    """

    side: Side
    rating_a: float | None
    least_a: Band | None
    most_a: float | None
    load_margin_a: Band | None
    wire_margin_a: float | None
    ratings: tuple[Decimal, ...]
    measure: tuple[str, ...]
    words: str

    @property
    def verdict(self) -> Verdict:
        """PASS only where the fuse fits on both sides."""
        fair = {
            Side.FITS: Verdict.PASS,
            Side.CLOSE: Verdict.CLOSE,
            Side.UNKNOWN: Verdict.UNKNOWN,
        }
        return fair.get(self.side, Verdict.FAIL)


def fuse_verdict(
    rating_a: Amps | None,
    load_a: Band | float | None,
    wire_a: float | None,
    *,
    share: Amps = CONTINUOUS_SHARE,
    socket_a: float | None = None,
    size: BladeSize | None = None,
) -> FuseVerdict:
    """Judge a fuse by `load / share <= fuse <= wire`, both ends included.

    `load_a` is the lasting load in amps, `wire_a` what the wire behind it may carry, `socket_a`
    what its position may carry where that is less; None stands for what nobody recorded. With a
    blade `size` only its standard ratings count as fitting. Where even the best fuse between
    the two sides does not exist the side is WIRE_TOO_SMALL, whatever is in the slot. Raises
    InputError (rating, load, wire, socket, share) for values that cannot be.
    """
    part = as_share("share", share)
    load = None if load_a is None else band(load_a)
    if load is not None:
        not_negative("load", load.low)
    least = None if load is None else load / part
    carried = [
        positive(what, value) for what, value in (("wire", wire_a), ("socket", socket_a))
        if value is not None
    ]  # fmt: skip
    most = min(carried) if wire_a is not None else None
    rating = None if rating_a is None else positive("rating", rating_a)
    measure = (
        ("measure the load's current",) * (load is None)
        + ("record what the wire may carry",) * (wire_a is None)
        + ("read the rating on the fuse",) * (rating is None)
    )
    ratings = _between(least, most, size)
    side = _side(rating, least, most, size, ratings)
    return FuseVerdict(
        side=side,
        rating_a=rating,
        least_a=least,
        most_a=most,
        load_margin_a=None if rating is None or least is None else rating - least,
        wire_margin_a=None if rating is None or most is None else most - rating,
        ratings=ratings,
        measure=measure if side is Side.UNKNOWN else (),
        words=_fuse_words(side, rating, least, most, ratings, measure),
    )


def _between(least: Band | None, most: float | None, size: BladeSize | None) -> tuple[Decimal, ...]:
    """The standard ratings that surely lie between load and wire, of `size` or of any."""
    if least is None or most is None:
        return ()
    charted = standard_ratings(size) if size else sorted({r for c in COLOURS.values() for r in c})
    return tuple(
        rating
        for rating in charted
        if at_least("", float(rating), least).verdict is Verdict.PASS and float(rating) <= most
    )


def _side(
    rating: float | None,
    least: Band | None,
    most: float | None,
    size: BladeSize | None,
    ratings: tuple[Decimal, ...],
) -> Side:
    if least is not None and most is not None:
        room = at_most("", least, most).verdict
        if room is Verdict.FAIL or (size is not None and least.certain and not ratings):
            return Side.WIRE_TOO_SMALL
    bears = Verdict.UNKNOWN
    protects = Verdict.UNKNOWN
    if rating is not None and least is not None:
        bears = at_least("", rating, least).verdict
    if rating is not None and most is not None:
        protects = at_most("", rating, most).verdict
    if protects is Verdict.FAIL:
        return Side.FUSE_TOO_LARGE
    if bears is Verdict.FAIL:
        return Side.FUSE_TOO_SMALL
    return {Verdict.PASS: Side.FITS, Verdict.CLOSE: Side.CLOSE}.get(
        worst([bears, protects]), Side.UNKNOWN
    )


def _fuse_words(
    side: Side,
    rating: float | None,
    least: Band | None,
    most: float | None,
    ratings: tuple[Decimal, ...],
    measure: tuple[str, ...],
) -> str:
    fuse = f"{rating:g} A fuse" if rating is not None else "the fuse"
    needs = least.words("A", 1) if least else ""
    fitting = " or ".join(f"{rating} A" for rating in ratings)
    match side:
        case Side.FITS:
            return f"{fuse}: the load asks for {needs}, the wire bears {most:g} A; it fits."
        case Side.WIRE_TOO_SMALL:
            return (
                f"Wire too small: the load asks for {needs}, it may carry {most:g} A. "
                "Fit thicker wire or split the load."
            )
        case Side.FUSE_TOO_LARGE:
            mend = f"Fit {fitting}." if fitting else "Fit a smaller fuse or thicker wire."
            return f"{fuse}: the wire behind it may carry {most:g} A and is not protected. {mend}"
        case Side.FUSE_TOO_SMALL if most is None:
            return (
                f"{fuse}: the load asks for {needs}. Give it its own feed; nobody recorded that "
                "the wire may carry more."
            )
        case Side.FUSE_TOO_SMALL:
            mend = f"{fitting} would fit." if fitting else "Split the load."
            return f"{fuse}: the load asks for {needs}. {mend}"
        case Side.CLOSE:
            return f"{fuse}: the load asks for {needs}: too close to call; measure the load."
        case _:
            return f"{fuse}: unknown; {'; '.join(measure)}."


def summed_a(loads: Iterable[Band | float]) -> Band:
    """Return the sum of `loads` in amps, peaks taken as if they came together.

    Raises InputError for a negative load.
    """
    total = Band(0.0, 0.0, 0.0)
    for load in loads:
        found = band(load)
        if found.low < 0:
            raise InputError("load", f"{found.low:g} A was given; a load cannot be negative.")
        total += found
    return total
