"""What stands behind a point in amps: fuses and sockets on the way, and what they carry.

Peaks are added up as if they came together, because the one time that they do is the time
that counts. Where a point has several feeds, each of them is taken to carry all of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from installs.domain.ports import KindPort, PortFeed
from vehicles.domain.feedmap import FeedMap, Fuse, Outlet, element_of, feeds_of


@dataclass(frozen=True, slots=True)
class Rated:
    """A fuse, socket or line on the way to a point. ``rating_a`` is None where not recorded."""

    point: str
    label: str
    rating_a: float | None


class Ratings:
    """Rated things upstream of each point of one feed map, and the peaks that pass them."""

    def __init__(self, feed_map: FeedMap, fitted: Iterable[tuple[str, KindPort, PortFeed]]) -> None:
        self.map = feed_map
        # User (``FITTING.port``) -> connection of every fitted port, with or without a peak.
        self.connections: dict[str, PortFeed] = {}
        # What is rated on the way to a point never changes with a state: the map keeps it.
        self._paths: dict[str, tuple[Rated, ...]] = feed_map.memo
        # Rated point -> user -> peak of every fitted port that draws through it, and of every
        # load of the car (``load:ID``). By ids, for two lamps may well have one name.
        self.fitted: dict[str, dict[str, float]] = {}
        self.loads: dict[str, dict[str, float]] = {}
        for load in feed_map.loads:
            if load.peak_a:
                for feed in load.feed:
                    self._add(self.loads, feed, f"load:{load.id}", load.peak_a)
        for user, port, connection in fitted:
            self.connections[user] = connection
            if port.peak_a:
                self._add(self.fitted, connection.feed, user, port.peak_a)

    def _add(self, group: dict[str, dict[str, float]], feed: str, user: str, amps: float) -> None:
        # One user that reaches a fuse by several of its feeds draws through it once.
        for rated in self.path(feed):
            group.setdefault(rated.point, {})[user] = amps

    def path(self, point: str) -> tuple[Rated, ...]:
        """Every rated thing between the source and ``point``, nearest to the point first."""
        found = self._paths.get(point)
        if found is None:
            found = self._paths[point] = tuple(dict.fromkeys(self._walk(point, frozenset())))
        return found

    def _walk(self, point: str, seen: frozenset[str]) -> Iterator[Rated]:
        if point == "coach" and self.map.charge_line is not None:
            yield Rated("coach", "the coach's charge line", self.map.charge_line.rating_a)
        element = self.map.elements.get(element_of(point))
        if element is None or point in seen:
            return
        if isinstance(element, Fuse) and not point.endswith("@supply"):
            yield Rated(point, element.id, element.rating_a)
            if element.backfeed:
                for feed in element.backfeed:
                    yield from self._walk(feed, seen | {point})
        if isinstance(element, Outlet):
            yield Rated(point, element.name or f"outlet {element.id}", element.rating_a)
        for feed in feeds_of(element):
            yield from self._walk(feed, seen | {point})

    def smallest(self, point: str, own_fuse_a: float | None = None) -> Rated | None:
        """The weakest rated thing behind ``point``; one without a rating is the weakest of all."""
        path = list(self.path(point))
        if own_fuse_a is not None:
            path.insert(0, Rated("own_fuse", "its own fuse", own_fuse_a))
        return min(path, key=lambda rated: rated.rating_a or 0.0, default=None)

    def drawn(self, rated: Rated, *, without: str = "") -> float:
        """The sum of peaks in amps through ``rated``, leaving out the user ``without``."""
        # The search for cures asks this for every fuse of the map: most of them carry nothing.
        loads, fitted = self.loads.get(rated.point), self.fitted.get(rated.point)
        total = sum(loads.values()) if loads else 0.0
        if fitted:
            total += sum(amps for user, amps in fitted.items() if user != without)
        return total

    def peaks(self, rated: Rated) -> list[float]:
        """The peak in amps of everything that draws through ``rated``."""
        groups = (self.loads, self.fitted)
        return [amps for group in groups for amps in group.get(rated.point, {}).values()]

    def speaks_for(self, rated: Rated, user: str) -> bool:
        """Is ``user`` the first fitted part on ``rated``? One finding for one fuse is enough."""
        return next(iter(self.fitted.get(rated.point, {})), None) == user

    def room_for(self, point: str, need_a: float, draw_a: float, *, without: str) -> float | None:
        """Amps left behind ``point`` with ``draw_a`` more on it; None where it does not fit.

        It fits if everything on the way is rated ``need_a`` and bears the peaks of the others
        (``without`` is the user that moves here) with ``draw_a`` on top. Where nothing on the
        way is rated, as at the battery's post, what is left is infinite.
        """
        left = math.inf
        if not need_a and not draw_a:
            return left
        for rated in self.path(point):
            if rated.rating_a is None or rated.rating_a < need_a:
                return None
            left = min(left, rated.rating_a - draw_a - self.drawn(rated, without=without))
        return None if left < 0 else left
