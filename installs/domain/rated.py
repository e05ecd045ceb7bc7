"""Findings about amps: what stands behind a port, and what its fuses have to carry."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from installs.domain.findings import Code, Cure, Finding, Severity
from installs.domain.ports import KindPort, PortFeed
from installs.domain.ratings import Rated, Ratings
from vehicles.domain.feedmap import Fuse
from vehicles.domain.fuse import (
    CONTINUOUS_SHARE,
    BladeSize,
    Load,
    load_verdict,
    standard_ratings,
)

NO_BIGGER_FUSE = (
    "A bigger fuse is no answer: nobody recorded that its wire and socket may carry more."
)


def rating_findings(
    port: KindPort,
    connection: PortFeed,
    ratings: Ratings,
    *,
    component: str,
    user: str,
    label: str,
    cures: Callable[[Code], tuple[Cure, ...]],
    share: Decimal = CONTINUOUS_SHARE,
) -> Iterator[Finding]:
    """Findings about the ratings behind one port; ``cures`` is asked only where one is wanted.

    ``share`` is what of a rating a load may use before no margin is left.
    """

    def found(
        code: Code,
        title: str,
        why: str = "",
        *,
        blocking: bool = True,
        severity: str = port.severity,
        ways: tuple[Cure, ...] = (),
    ) -> Finding:
        return Finding(
            code, Severity(severity), blocking, title, why, ("tow",), component, port.name, ways
        )

    if connection.feed in ("own", "unknown"):
        return
    yield from _supply(port, connection, ratings, label, found, cures)
    yield from _own_fuse(port, connection, label, found)
    if port.peak_a:
        for rated in ratings.path(connection.feed):
            yield from _carried(rated, ratings, user, label, found, cures, share)


def _supply(
    port: KindPort,
    connection: PortFeed,
    ratings: Ratings,
    label: str,
    found: Callable[..., Finding],
    cures: Callable[[Code], tuple[Cure, ...]],
) -> Iterator[Finding]:
    wanted = port.min_supply_a
    weakest = ratings.smallest(connection.feed, connection.own_fuse_a)
    if weakest is None:
        return
    if weakest.rating_a is None:
        # A peak without a rating to hold it against proves as little as a missing rating.
        if wanted is not None:
            asked = f"At least {wanted:g} A must stand behind it."
        elif port.peak_a:
            asked = f"Its peak of {port.peak_a:g} A must pass there."
        else:
            return
        yield found(
            Code.RATING_NOT_KNOWN,
            f"{label}: the rating of {weakest.label} is not recorded.",
            asked,
            ways=(Cure("record", f"Read the rating of {weakest.label} and record it."),),
        )
    elif wanted is not None and weakest.rating_a < wanted:
        yield found(
            Code.SUPPLY_TOO_SMALL,
            f"{label}: {weakest.rating_a:g} A behind it, at least {wanted:g} A wanted.",
            f"The weakest on the way is {weakest.label}.",
            ways=cures(Code.SUPPLY_TOO_SMALL),
        )


def _own_fuse(
    port: KindPort, connection: PortFeed, label: str, found: Callable[..., Finding]
) -> Iterator[Finding]:
    own, peak = connection.own_fuse_a, port.peak_a
    if own is not None and peak and load_verdict(own, [peak]).load is Load.OVER:
        yield found(
            Code.OWN_FUSE_TOO_SMALL,
            f"{label}: its own {own:g} A fuse cannot carry its peak of {peak:g} A.",
            "Fit the fuse that the part's maker names, on wire that may carry it.",
        )
    ahead = connection.feed == "battery" or connection.feed.endswith("@supply")
    if own is None and ahead:
        yield found(
            Code.NO_OWN_FUSE,
            f"{label}: no fuse of its own is recorded for a wire tapped ahead of the fuse.",
            "Without one nothing protects that wire from a short to the body.",
            blocking=False,
            severity="WARNING",
            ways=(Cure("record", "Look for its fuse close to the tap and record its rating."),),
        )


def _carried(
    rated: Rated,
    ratings: Ratings,
    user: str,
    label: str,
    found: Callable[..., Finding],
    cures: Callable[[Code], tuple[Cure, ...]],
    share: Decimal,
) -> Iterator[Finding]:
    if rated.rating_a is None or not ratings.speaks_for(rated, user):
        return
    verdict = load_verdict(rated.rating_a, ratings.peaks(rated), share=share)
    if verdict.load is Load.OVER:
        larger = _larger_fuse(ratings, rated, float(verdict.total_a))
        yield found(
            Code.FUSE_OVERLOADED,
            f"{rated.label}: {verdict.total_a:g} A at the peak on {rated.rating_a:g} A ({label}).",
            "Give one of them a fused feed of its own." + ("" if larger else f" {NO_BIGGER_FUSE}"),
            ways=cures(Code.FUSE_OVERLOADED) + larger,
        )
    elif verdict.load is Load.NO_MARGIN:
        yield found(
            Code.NO_MARGIN,
            f"{rated.label}: {verdict.total_a:g} A at the peak on {rated.rating_a:g} A, "
            f"no margin left ({label}).",
            blocking=False,
            severity="CAUTION",
        )


def _larger_fuse(ratings: Ratings, rated: Rated, total: float) -> tuple[Cure, ...]:
    """The next standard rating, only where wire and socket are recorded to bear it."""
    fuse = ratings.map.elements.get(rated.point)
    if not isinstance(fuse, Fuse) or not fuse.wire_ampacity_a or not fuse.socket_a:
        return ()
    if fuse.blade not in tuple(BladeSize):
        return ()
    for rating in standard_ratings(BladeSize(fuse.blade)):
        if float(rating) > total:
            if float(rating) > min(fuse.wire_ampacity_a, fuse.socket_a):
                return ()
            note = (
                f"Recorded: wire {fuse.wire_ampacity_a:g} A, socket {fuse.socket_a:g} A.",
                "Nothing else dies or stays awake.",
            )
            return (Cure("larger_fuse", f"Fit {rating} A in {fuse.id}", note),)
    return ()
