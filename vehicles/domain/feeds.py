"""Which points are alive in a state, and why: one walk over a feed map.

A consumer works only when one and the same source reaches both of its ends: the vehicle's
battery (plus through fuses, switches and relay contacts; minus through the body to the
negative post) or the coach's charge line (with its own ground). A disconnect opens one leg
only, so it is judged on the side where it sits. Relay coils are judged as circuits like any
other consumer before their contacts are believed.

``LivePaths(feed_map, state)`` answers ``port(feed, ground)`` for consumers,
``point(feed)`` for a test lamp between a point and the body, and ``coil(relay)``. Answers are
memoised; an instance is for one map and one state.
"""

from __future__ import annotations

from vehicles.domain.answers import (
    Answer,
    Link,
    Value,
    conditional,
    negate,
    off,
    on,
    parallel,
    series,
    unknown,
)
from vehicles.domain.closures import closed
from vehicles.domain.feedmap import (
    BUS,
    PROVEN,
    FeedMap,
    Fuse,
    Outlet,
    Relay,
    Switch,
    Terminal,
    element_of,
    feeds_of,
)
from vehicles.domain.sources import Sources
from vehicles.domain.state import State


class LivePaths:
    """Answers for one feed map in one state."""

    def __init__(self, feed_map: FeedMap, state: State) -> None:
        self.map = feed_map
        self.state = state
        self.sources = Sources(feed_map, state)
        self._plus: dict[tuple[str, str], Answer] = {}
        self._minus: dict[tuple[str, str], Answer] = {}
        self._closure: dict[str, Answer] = {}
        self._coil: dict[str, Answer] = {}
        self._port: dict[tuple[str, str], Answer] = {}
        self._plainly: dict[tuple[Value, str], frozenset[str]] = {}
        self._fed_by: dict[tuple[str, Value], frozenset[str]] = {}
        self._open: set[str] = set()
        if feed_map.looped_relays:
            self._settle(feed_map.looped_relays)

    # -- what others ask ---------------------------------------------------------------

    def port(self, feed: str, ground: str = "body") -> Answer:
        """Is a consumer between ``feed`` and ``ground`` alive? Needs both from one source."""
        key = (feed, ground)
        answer = self._port.get(key)
        if answer is None:
            answer = self._port[key] = self._judge_port(feed, ground)
        return answer

    def point(self, feed: str) -> Answer:
        """What a test lamp clipped to the body shows at ``feed``."""
        return self.port(feed, "own" if feed == "own" else "body")

    def plainly(self, value: Value, ground: str = "body") -> frozenset[str]:
        """Every point of the map where ``port(point, ground)`` is ``value``: ON or OFF.

        Searching the whole map for cures asks this a lot; no chain is joined for it. ``own`` and
        ``unknown`` are left out.
        """
        found = self._plainly.get((value, ground))
        if found is None:
            found = frozenset() if self.state.unsettled else self._search(value, ground)
            self._plainly[value, ground] = found
        return found

    def _search(self, value: Value, ground: str) -> frozenset[str]:
        backs = [(source, self._ground(source, ground).value) for source in self.sources.names]
        if value is Value.ON:
            # One source that reaches both ends is enough.
            live = (self._fed(source, value) for source, back in backs if back is Value.ON)
            return frozenset().union(*live)
        # Dead is what no source reaches at one end or the other.
        dead = frozenset(self.map.points) - {"own", "unknown"}
        for source, back in backs:
            if back is not Value.OFF:
                dead &= self._fed(source, value)
        return dead

    def _fed(self, source: str, value: Value) -> frozenset[str]:
        found = self._fed_by.get((source, value))
        if found is None:
            found = self._fed_by[source, value] = frozenset(
                point
                for point in self.map.points
                if point not in ("own", "unknown") and self._feed(source, point).value is value
            )
        return found

    def any_port(self, feeds: tuple[str, ...], ground: str = "body") -> Answer:
        """A consumer with several feeds of which any one is enough."""
        return parallel([self.port(feed, ground) for feed in feeds])

    def coil(self, relay: str) -> Answer:
        """Is the relay's coil energised? ``relay`` is its id."""
        answer = self._coil.get(relay)
        if answer is None:
            element = self.map.elements.get(f"relay:{relay}")
            if element is None:
                return unknown(f"relay:{relay}", f"relay {relay} is not on the feed map")
            answer = self._coil[relay] = self._judge_coil(element)
        return answer

    def _judge_coil(self, relay: Relay) -> Answer:
        # What holds or drops an assumed relay is as little proven as what its contact feeds.
        if relay.known not in PROVEN:
            return _assumed(relay)
        return self.any_port(relay.coil, relay.coil_ground)

    # -- circuits ----------------------------------------------------------------------

    def _judge_port(self, feed: str, ground: str) -> Answer:
        if feed == "own":
            return on("own", "its own battery")
        if self.state.unsettled:
            return unknown("procedure", self.state.unsettled)
        if feed == "unknown":
            return unknown("unknown", "nobody recorded where this is fed from")
        return parallel(
            [series(self._feed(s, feed), self._ground(s, ground)) for s in self.sources.names]
        )

    def _feed(self, source: str, point: str) -> Answer:
        key = (source, point)
        answer = self._plus.get(key)
        if answer is None:
            answer = self._plus[key] = self._walk(source, point)
        return answer

    def _walk(self, source: str, point: str) -> Answer:
        if point in ("battery", BUS, "coach"):
            return self.sources.plus(source, point)
        if point == "unknown":
            return unknown("unknown", "nobody recorded where this is fed from")
        if point == "own":
            return off("own", "a part's own battery feeds nothing else")
        element = self.map.elements.get(element_of(point))
        if element is None:
            return unknown(point, f"{point} is not on the feed map")
        if point in self._open:
            return unknown(point, f"{point} feeds itself on the map: no source found")
        self._open.add(point)
        try:
            return self._through(source, point, element)
        finally:
            self._open.discard(point)

    def _through(
        self, source: str, point: str, element: Terminal | Fuse | Relay | Switch | Outlet
    ) -> Answer:
        if point.endswith("@supply"):
            return self._supply(source, point, element)
        proven = element.known in PROVEN
        if not isinstance(element, Fuse):
            # What opens it was assumed along with its feed, so not even "open" is proven. A
            # pulled fuse is different: somebody holds it in the hand.
            if not proven:
                return _assumed(element)
            return series(self._supply(source, point, element), self._closed(point, element))
        answer = series(self._feed(source, f"{point}@supply"), self._closed(point, element))
        if not element.backfeed:
            return answer
        if not proven:
            return parallel([answer, _assumed(element)])
        return parallel([answer, *(self._feed(source, feed) for feed in element.backfeed)])

    def _supply(
        self, source: str, point: str, element: Terminal | Fuse | Relay | Switch | Outlet
    ) -> Answer:
        # An assumed feed may in truth come from anywhere, so what is upstream of the
        # assumption proves nothing, not even that the point is dead.
        if element.known not in PROVEN:
            return _assumed(element)
        feeds = feeds_of(element)
        if len(feeds) == 1:
            return self._feed(source, feeds[0])
        return parallel([self._feed(source, feed) for feed in feeds])

    # -- grounds -----------------------------------------------------------------------

    def _ground(self, source: str, ground: str) -> Answer:
        key = (source, ground)
        answer = self._minus.get(key)
        if answer is None:
            answer = self._minus[key] = self._walk_ground(source, ground)
        return answer

    def _walk_ground(self, source: str, ground: str) -> Answer:
        if not ground.startswith("switch:"):
            return self.sources.ground(source, ground)
        switch = self.map.elements.get(ground)
        if switch is None or switch.known not in PROVEN:
            return unknown(ground, f"ground through {ground}: nobody measured it")
        paths = [self.sources.ground(source, point) for point in switch.feed]
        return series(parallel(paths), self._closed(ground, switch))

    # -- what an element itself does ---------------------------------------------------

    def _closed(self, point: str, element: Terminal | Fuse | Relay | Switch | Outlet) -> Answer:
        """Does this element carry on, looked at by itself?"""
        answer = self._closure.get(point)
        if answer is None:
            if isinstance(element, Relay):
                answer = self._closed_relay(point, element)
            else:
                answer = closed(self.state, point, element)
            self._closure[point] = answer
        return answer

    def _closed_relay(self, point: str, relay: Relay) -> Answer:
        coil = self.coil(relay.id)
        at_rest = point.endswith("@rest") or relay.contact == "normally_closed"
        contact = negate(coil) if at_rest else coil
        because = f" because {coil.why}" if coil.value is not Value.ON else ""
        held = {Value.ON: "energised", Value.OFF: "at rest"}.get(coil.value, coil.words)
        link = Link(point, f"relay {relay.id}: coil {held}{because}", contact.value)
        return Answer(contact.value, contact.until_minutes, contact.conditions, (link,))

    # -- relays that hold themselves ---------------------------------------------------

    def _settle(self, looped: frozenset[str]) -> None:
        """Fix the coils that depend on themselves, from both ends.

        Starting with all of them at rest gives what is alive by itself. Starting with all of
        them energised gives what a loop would hold once it was on. Where the two differ the
        coil is on only if something switched it on before: CONDITIONAL.
        """
        rest = {r: off(f"relay:{r}", f"relay {r} at rest") for r in looped}
        held = {r: on(f"relay:{r}", f"relay {r} held on") for r in looped}
        low, high = self._iterate(rest), self._iterate(held)
        self._forget()
        for relay in sorted(looped):
            self._coil[relay] = _between(relay, low.get(relay), high.get(relay))

    def _iterate(self, start: dict[str, Answer]) -> dict[str, Answer]:
        """Judge the coils over and over from ``start``; empty if they never come to rest."""
        coils = start
        for _ in range(2 * len(start) + 2):
            self._forget()
            self._coil.update(coils)
            judged = {
                relay: self._judge_coil(self.map.elements[f"relay:{relay}"]) for relay in coils
            }
            if all(judged[r].value is coils[r].value for r in coils):
                return judged
            coils = judged
        return {}

    def _forget(self) -> None:
        for memo in (
            self._plus,
            self._minus,
            self._closure,
            self._coil,
            self._port,
            self._plainly,
            self._fed_by,
        ):
            memo.clear()


def _between(relay: str, low: Answer | None, high: Answer | None) -> Answer:
    point = f"relay:{relay}"
    if low is None or high is None:
        return unknown(point, f"relay {relay} switches itself on and off: loop through {relay}")
    if low.value is high.value or low.value is Value.UNKNOWN:
        return low
    return conditional(
        point,
        f"relay {relay} stays on once it is on: loop through {relay}",
        (f"relay {relay} was switched on before: loop through {relay}",),
    )


def _assumed(element: Terminal | Fuse | Relay | Switch | Outlet) -> Answer:
    point = f"{type(element).__name__.lower()}:{element.id}"
    return unknown(point, f"{label(element)}: its feed is assumed, nobody measured it")


def label(element: Terminal | Fuse | Relay | Switch | Outlet) -> str:
    """An element in a sentence: ``F08``, ``terminal 15R``, ``relay R1``."""
    if isinstance(element, Fuse):
        return element.id
    if isinstance(element, (Outlet, Switch)) and element.name:
        return element.name
    return f"{type(element).__name__.lower()} {element.id}"
