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

from collections.abc import Callable

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
    timed,
    unknown,
)
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

ALL_POSITIONS = frozenset({"off", "acc", "on", "start"})
UNDER_WAY = frozenset({"on", "start"})


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
            answer = self.any_port(element.coil, element.coil_ground)
            self._coil[relay] = answer
        return answer

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
        supply = self._supply(source, point, element)
        if point.endswith("@supply"):
            return supply
        answer = series(supply, self._closed(point, element))
        if isinstance(element, Fuse) and element.backfeed:
            around = [self._feed(source, feed) for feed in element.backfeed]
            return parallel([answer, *around])
        return answer

    def _supply(
        self, source: str, point: str, element: Terminal | Fuse | Relay | Switch | Outlet
    ) -> Answer:
        # An assumed feed may in truth come from anywhere, so what is upstream of the
        # assumption proves nothing, not even that the point is dead.
        if element.known not in PROVEN:
            return unknown(
                element_of(point), f"{label(element)}: its feed is assumed, nobody measured it"
            )
        return parallel([self._feed(source, feed) for feed in feeds_of(element)])

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
            judge: Callable[..., Answer] = getattr(self, _JUDGED_BY[type(element)])
            answer = judge(point, element)
            self._closure[point] = answer
        return answer

    def _closed_fuse(self, point: str, fuse: Fuse) -> Answer:
        if fuse.id in self.state.fuses_out:
            return off(point, f"{fuse.id} is out{self.state.fuse_step(fuse.id)}")
        rating = f" ({fuse.rating_a:g} A)" if fuse.rating_a else ""
        return on(point, f"{fuse.id}{rating} is in")

    def _closed_terminal(self, point: str, terminal: Terminal) -> Answer:
        by_key = self._by_key(point, terminal)
        gate = self._gate(point, terminal.gate, terminal.conditions, f"terminal {terminal.id}")
        return by_key if gate is None else series(by_key, gate)

    def _by_key(self, point: str, terminal: Terminal) -> Answer:
        state, positions = self.state, terminal.positions
        name = f"terminal {terminal.id}"
        if positions == ALL_POSITIONS:
            return on(point, f"{name}, live in every key position")
        if not positions:
            return unknown(point, f"{name}: nobody recorded in which key positions it is live")
        if state.key is None:
            return unknown(point, f"{name}: the procedure does not say where the key stands")
        where = f"key {'out' if state.key_removed else state.key.upper()}{state.step_of('key')}"
        if state.key in positions:
            return on(point, f"{name}, {where}")
        return self._retained(point, f"{name}, {where}", terminal.timer_minutes)

    def _retained(self, point: str, where: str, timer: float | None) -> Answer:
        """Not fed by the key any more: dead, unless a timer still holds it."""
        gone = self.state.minutes_since_key_off
        if timer is None:
            return off(point, f"{where}: dead")
        if gone is not None and gone >= timer:
            return off(point, f"{where}: its {timer:g} min timer has run out")
        return timed(point, f"{where}: held by a timer for {timer:g} min", timer)

    def _closed_outlet(self, point: str, outlet: Outlet) -> Answer:
        name = outlet.name or f"outlet {outlet.id}"
        change = " (the driver can change this)" if outlet.user_can_change else ""
        answer = on(point, name)
        if outlet.timer_minutes is not None:
            answer = self._on_timer(point, name + change, outlet.timer_minutes)
        if outlet.conditions:
            words = " and ".join(outlet.conditions)
            extra = conditional(point, f"{name}: only while {words}{change}", outlet.conditions)
            answer = extra if outlet.timer_minutes is None else series(answer, extra)
        elif outlet.user_can_change and outlet.timer_minutes is None:
            answer = conditional(point, name + change, ("the driver leaves its setting as it is",))
        return answer

    def _on_timer(self, point: str, name: str, timer: float) -> Answer:
        """A timer that starts when the key leaves *on*, whatever feeds the outlet."""
        state = self.state
        if state.key in UNDER_WAY:
            return on(point, name)
        gone = state.minutes_since_key_off
        if gone is not None and gone >= timer:
            return off(point, f"{name}: its {timer:g} min timer has run out")
        return timed(point, f"{name}: switches itself off after {timer:g} min", timer)

    def _closed_switch(self, point: str, switch: Switch) -> Answer:
        name = switch.name or f"switch {switch.id}"
        gate = self._gate(point, switch.closed_when, switch.conditions, name)
        return on(point, f"{name}, closed") if gate is None else gate

    def _gate(
        self, point: str, closed_when: str, conditions: tuple[str, ...], name: str
    ) -> Answer | None:
        """A switch by what closes it; None where nothing opens it."""
        state = self.state
        gate: Answer | None = None
        if closed_when == "pedal":
            gate = _by_flag(point, name, state.pedal, "brake pedal", "pressed", "at rest")
        elif closed_when == "reverse":
            gate = _by_flag(point, name, state.reverse_gear, "reverse gear", "in", "not in")
        elif closed_when == "lamp_switch":
            gate = self._by_lamp_switch(point, name)
        elif closed_when != "always":
            gate = unknown(point, f"{name}: nobody recorded what closes it")
        if conditions:
            words = " and ".join(conditions)
            extra = conditional(point, f"{name}: only while {words}", conditions)
            gate = extra if gate is None else series(gate, extra)
        return gate

    def _by_lamp_switch(self, point: str, name: str) -> Answer:
        step, position = self.state.step_of("lamp_switch"), self.state.lamp_switch
        if position == "off":
            return off(point, f"{name}: lamp switch OFF{step}")
        if position == "on":
            return on(point, f"{name}: lamp switch ON{step}")
        if position == "auto":
            return conditional(point, f"{name}: lamp switch AUTO{step}", ("it is dark",))
        return conditional(
            point, f"{name}: nobody said how the lamp switch stands", ("the lamps are switched on",)
        )

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
                relay: self.any_port(element.coil, element.coil_ground)
                for relay in coils
                for element in [self.map.elements[f"relay:{relay}"]]
            }
            if all(judged[r].value is coils[r].value for r in coils):
                return judged
            coils = judged
        return {}

    def _forget(self) -> None:
        for memo in (self._plus, self._minus, self._closure, self._coil, self._port):
            memo.clear()


_JUDGED_BY = {
    Fuse: "_closed_fuse",
    Outlet: "_closed_outlet",
    Relay: "_closed_relay",
    Switch: "_closed_switch",
    Terminal: "_closed_terminal",
}


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


def _by_flag(
    point: str, name: str, flag: bool | None, what: str, closed: str, opened: str
) -> Answer:
    if flag is None:
        return conditional(point, f"{name}: closed while {what} {closed}", (f"{what} {closed}",))
    if flag:
        return on(point, f"{name}: {what} {closed}")
    return off(point, f"{name}: {what} {opened}")


def label(element: Terminal | Fuse | Relay | Switch | Outlet) -> str:
    """An element in a sentence: ``F08``, ``terminal 15R``, ``relay R1``."""
    if isinstance(element, Fuse):
        return element.id
    if isinstance(element, (Outlet, Switch)) and element.name:
        return element.name
    return f"{type(element).__name__.lower()} {element.id}"
