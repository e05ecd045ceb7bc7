"""Cures, computed: which other connection would give a port what it needs in every state.

Every point of the feed map is tried as a feed, with the port's own ground first and then the
others, and kept only if all demands of the port are met in all states and the ratings behind
it suffice. Each cure says what else it would change. Best first, at most ``MOST``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from installs.domain.curewords import CureWords
from installs.domain.findings import Code, Cure
from installs.domain.ports import Kind, KindPort, PortFeed
from installs.domain.ratings import Ratings
from installs.domain.views import Views, demands_of, meets
from vehicles.domain.answers import Answer, Value
from vehicles.domain.feedmap import FeedMap, Load

MOST = 5
MOST_OF_A_SORT = 2
# A fuse that something of the car needs comes after a spare one, even one a good deal bigger:
# if it blows, a lamp of the car goes dark too.
SHARED = 0.7
# Least change to the vehicle first; what needs the driver's hand or a maker's word comes last.
RANK = {
    "ground": 0.0,
    "tap_side": 1.0,
    "outlet": 2.0,
    "other_feed": 4.0,
    "added_part": 8.0,
    "battery_direct": 9.0,
    "charge_line": 10.0,
    "own_battery": 11.0,
    "bypass_switch": 12.0,
    "pull_fuse": 13.0,
}


class CureSearch:
    """Looks for cures on one sheet; remembers what it worked out for the whole vehicle."""

    def __init__(
        self,
        views: Views,
        ratings: Ratings,
        catalogue: Mapping[str, Kind],
        names: Mapping[str, str],
    ) -> None:
        self.views = views
        self.map: FeedMap = views.map
        self.ratings = ratings
        self.catalogue = catalogue
        self.words = CureWords(views, ratings, names)
        self._live: dict[tuple[tuple[tuple[str, str], ...], str], frozenset[str]] = {}
        self._with_fuse: dict[str, Views] = {}
        self._base_strain: dict[str, float] = {}
        self._proposed: dict[str, list[tuple[float, Cure]]] = {}

    def for_port(
        self, code: Code, user: str, port: KindPort, connection: PortFeed, answer: Answer | None
    ) -> tuple[Cure, ...]:
        """Cures for a port with this finding, best first. ``answer``: what was found there."""
        found = list(self._connections(user, port, connection))
        found += self._parts(code)
        if code is Code.NO_POWER and answer is not None:
            found += self._bypass(port, connection, answer)
        return _best(found)

    def for_load(self, code: Code, load: Load) -> tuple[Cure, ...]:
        """Cures for a load of the car: parts that help, or the fuse that would put it to rest."""
        found = [*self._parts(code)]
        if code is Code.STAYS_AWAKE:
            found += self._pulled(load)
        return _best(found)

    # -- other connections -------------------------------------------------------------

    def _connections(
        self, user: str, port: KindPort, connection: PortFeed
    ) -> list[tuple[float, Cure]]:
        """The connections worth proposing, a few of each sort, best first."""
        found = self._proposed.get(user)
        if found is not None:
            return found
        ranked = []
        for trial, left in self._trials(user, port, connection):
            sort = self.words.sort_of(connection, trial)
            rank = RANK[sort] + (0.5 if trial.ground != connection.ground else 0.0)
            if sort == "other_feed":
                rank += self._strain(trial.feed, left)
            ranked.append((rank, sort, trial, left))
        ranked.sort(key=lambda row: row[0])
        found = self._proposed[user] = []
        sorts: dict[str, int] = {}
        for rank, sort, trial, left in ranked:
            sorts[sort] = sorts.get(sort, 0) + 1
            if sorts[sort] <= MOST_OF_A_SORT:
                cure = self.words.connection(sort, port, connection, trial, left)
                found.append((rank, cure))
        return found

    def _trials(
        self, user: str, port: KindPort, connection: PortFeed
    ) -> Iterator[tuple[PortFeed, float]]:
        """Connections that meet every demand, each feed with the first ground that does.

        With each the amps that would be left behind it.
        """
        wanted = tuple((s, d) for s, d in demands_of(port).items() if d in ("on", "off"))
        draw = port.peak_a or 0.0
        need = max(port.min_supply_a or 0.0, draw)
        grounds = [(g, self._alive(wanted, g)) for g in _grounds(connection.ground)]
        as_it_is = None if connection.in_slot else (connection.feed, connection.ground)
        for feed in self._feeds(connection, port):
            if feed == "own":
                yield PortFeed(feed=feed, ground=feed), math.inf
                continue
            if feed == "coach":
                pairs = [(g, self._alive(wanted, g)) for g in ("coach", "body")]
            else:
                pairs = grounds
            for ground, alive in pairs:
                if feed in alive and (feed, ground) != as_it_is:
                    left = self.ratings.room_for(feed, need, draw, without=user)
                    if left is not None:
                        yield PortFeed(feed=feed, ground=ground), left
                    break

    def _feeds(self, connection: PortFeed, port: KindPort) -> Iterator[str]:
        """Points to try; the one it is on comes first, for another ground is a small change."""
        yield connection.feed
        pluggable = connection.feed == "unknown" or connection.feed.startswith("outlet:")
        sorts = ["fuse", "battery", "coach"]
        if pluggable:
            sorts.append("outlet")
        # A battery of its own never rests, so it is no cure where OFF is demanded.
        if "off" not in demands_of(port).values():
            sorts.append("own")
        for point, sort in self.map.sorted_points:
            if sort in sorts and point != connection.feed:
                yield point

    def _alive(self, wanted: tuple[tuple[str, str], ...], ground: str) -> frozenset[str]:
        """Points that, with this ground, meet all of ``wanted`` (pairs of state and demand)."""
        key = (wanted, ground)
        found = self._live.get(key)
        if found is None:
            found = frozenset(self.map.points)
            for state, demand in wanted:
                value = Value.ON if demand == "on" else Value.OFF
                found &= self.views.path(state).plainly(value, ground)
            self._live[key] = found
        return found

    def _strain(self, feed: str, left: float) -> float:
        """How little a fuse suits: too tight, ahead of the fuse, shared, or far too big."""
        base = self._base_strain.get(feed)
        weakest = self.ratings.smallest(feed)
        rating = 100.0 if weakest is None else weakest.rating_a or 100.0
        if base is None:
            sharers = len(self.words.sharers(feed))
            base = 1.0 if feed.endswith("@supply") else 0.2 * sharers + SHARED * bool(sharers)
            base = self._base_strain[feed] = base + min(rating, 100.0) / 100
        return base + (0.5 if left < rating / 5 else 0.0)

    # -- added parts, bypasses, fuses to pull ------------------------------------------

    def _parts(self, code: Code) -> Iterator[tuple[float, Cure]]:
        for kind in self.catalogue.values():
            if code in kind.cures:
                notes = (kind.cure_text,) if kind.cure_text else ()
                yield RANK["added_part"], Cure("added_part", f"Add: {kind.name}", notes)

    def _bypass(
        self, port: KindPort, connection: PortFeed, answer: Answer
    ) -> Iterator[tuple[float, Cure]]:
        """A switch across the pulled fuse that is the break, where that alone would help."""
        link = answer.deciding
        fuse = link.point.partition(":")[2] if link and link.point.startswith("fuse:") else ""
        if fuse not in self.views.states["tow"].fuses_out or connection.in_slot:
            return
        views = self._views_with(fuse, fuse_out=False)
        demands = demands_of(port).items()
        if all(d == "any" or meets(d, views.port(s, connection)) for s, d in demands):
            yield RANK["bypass_switch"], self.words.bypass(fuse, self.awake_behind(fuse))

    def _pulled(self, load: Load) -> Iterator[tuple[float, Cure]]:
        """Fuses that would put the load to rest in tow, and what they would take with them."""
        tow = self.views.states["tow"]
        for feed in load.feed:
            for rated in self.ratings.path(feed):
                fuse = rated.point.partition(":")[2]
                if not rated.point.startswith("fuse:") or fuse in tow.fuses_out:
                    continue
                views = self._views_with(fuse, fuse_out=True)
                if meets("off", views.load("tow", load)):
                    killed = self.words.killed(fuse, views, load)
                    yield RANK["pull_fuse"], self.words.pull(fuse, killed)

    def _views_with(self, fuse: str, *, fuse_out: bool) -> Views:
        found = self._with_fuse.get(fuse)
        if found is None:
            states = dict(self.views.states)
            for name in ("tow", "breakaway"):
                out = {f: n for f, n in states[name].fuses_out.items() if f != fuse}
                if fuse_out:
                    out[fuse] = 0
                doubted = {f: n for f, n in states[name].doubted.items() if f != fuse}
                states[name] = replace(states[name], fuses_out=out, doubted=doubted)
            found = self._with_fuse[fuse] = Views(self.map, states)
        return found

    def awake_behind(self, fuse: str) -> list[str]:
        """What of the car would be awake in tow if the pulled ``fuse`` were in, by name."""
        views = self._views_with(fuse, fuse_out=False)
        woken = [
            load.name or load.id
            for load in self.map.loads
            if self.views.load("tow", load).value is Value.OFF
            and views.load("tow", load).value is not Value.OFF
        ]
        return list(dict.fromkeys([*woken, *self.map.elements[f"fuse:{fuse}"].behind]))


def _grounds(ground: str) -> tuple[str, ...]:
    """Grounds to try for a part, its own first where it is one of the car."""
    others = ("body", "battery_negative_post")
    first = () if ground in (*others, "own", "unknown", "coach") else (ground,)
    if ground == others[1]:
        return (others[1], others[0])
    return (*first, *others)


def _best(found: list[tuple[float, Cure]]) -> tuple[Cure, ...]:
    found.sort(key=lambda pair: pair[0])
    return tuple(cure for _, cure in found[:MOST])
