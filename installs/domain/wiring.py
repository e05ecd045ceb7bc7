"""Which connections of a feed map carry in a state, as edges between nodes, with resistances.

An edge is ``(name, one, two, setting, label)``; ``setting`` is the code of the resistance in
``limits.py``, or ``fuse`` for a fuse of the map. ``network.py`` makes a circuit of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from installs.domain.ports import PortFeed
from vehicles.domain.answers import Answer, Value, negate
from vehicles.domain.bands import Band, band
from vehicles.domain.circuit import Known
from vehicles.domain.closures import closed
from vehicles.domain.feedmap import (
    BUS,
    GROUNDS,
    FeedMap,
    Fuse,
    Outlet,
    Relay,
    Switch,
    Terminal,
    element_of,
    feeds_of,
    point_words,
)
from vehicles.domain.feeds import LivePaths
from vehicles.domain.inputs import InputError
from vehicles.domain.wire import Standard, area_mm2, gauge_number, wire_ohms

_GROUND_NODES = {
    "body": "ground:body",
    "battery_negative_post": "ground:post",
    "coach": "ground:coach",
}


class Edge(NamedTuple):
    """One resistance between two nodes."""

    name: str
    one: str
    two: str
    setting: str
    label: str


class Wiring:
    """The edges of one feed map in one state; only those that a source reaches."""

    def __init__(self, feed_map: FeedMap, paths: LivePaths) -> None:
        self.map, self.paths, self.state = feed_map, paths, paths.state
        state = self.state
        self.coach_plugged = (
            feed_map.charge_line is not None
            and state.charge_connected is True
            and not state.pin_pulled
            and not state.unsettled
        )
        self._reached = {"battery"}
        self._fed: list[Edge] = []
        if not state.unsettled:
            self._spread()

    def reaches(self, point: str) -> bool:
        """Is this point connected to a source over closed elements?"""
        return point in self._reached

    def ground(self, ground: str) -> str | None:
        """The node of a ground; None where it leads nowhere or nobody knows."""
        if ground in _GROUND_NODES:
            return _GROUND_NODES[ground]
        switch = self.map.elements.get(ground)
        if isinstance(switch, Switch) and self._closed(ground, switch):
            return f"ground:{ground}"
        return None

    def edges(self) -> Iterator[Edge]:
        """Every edge between feeds, then those between grounds."""
        yield from self._fed
        if self._leg_closed("negative"):
            yield Edge("body", "ground:body", "ground:post", "body_return_ohm", "the body")
        for switch in self.map.switches:
            point = f"switch:{switch.id}"
            if set(switch.feed) <= set(GROUNDS) and self._closed(point, switch):
                for at, feed in enumerate(switch.feed):
                    there = _GROUND_NODES.get(feed)
                    if there is not None:
                        label = switch.name or f"switch {switch.id}"
                        yield Edge(f"{point}/{at}", f"ground:{point}", there, "contact_ohm", label)
        if self.coach_plugged:
            yield from self._charge_line()

    def coils(self) -> Iterator[tuple[str, str, str]]:
        """Relay, feed and ground node of every coil that is not at rest."""
        for relay in self.map.relays:
            ground = self.ground(relay.coil_ground)
            feed = next((feed for feed in relay.coil if feed in self._reached), None)
            if feed is None or ground is None or self.paths.coil(relay.id).value is Value.OFF:
                continue
            yield relay.id, feed, ground

    def weakest_a(self, point: str, own_fuse_a: float | None) -> float | None:
        """The smallest recorded rating in amps on the first way back from ``point``."""
        found = [] if own_fuse_a is None else [own_fuse_a]
        seen: set[str] = set()
        while point not in seen:
            seen.add(point)
            element = self.map.elements.get(element_of(point))
            if element is None:
                break
            rating = getattr(element, "rating_a", None)
            if rating and not point.endswith("@supply"):
                found.append(rating)
            point = feeds_of(element)[0]
        return min(found, default=None)

    def fuses_behind(self, points: Iterable[str]) -> frozenset[str]:
        """The names of the fuses on any way from a source to any of ``points``."""
        behind: dict[str, list[Edge]] = {}
        for edge in self._fed:
            behind.setdefault(edge.two, []).append(edge)
        found: set[str] = set()
        waiting, seen = list(points), set[str]()
        while waiting:
            point = waiting.pop()
            if point in seen:
                continue
            seen.add(point)
            for edge in behind.get(point, ()):
                if edge.setting == "fuse":
                    found.add(edge.name)
                waiting.append(edge.one)
        return frozenset(found)

    # -- feeds -------------------------------------------------------------------------

    def _spread(self) -> None:
        """Follow the feeds from the sources over everything that carries."""
        ahead: dict[str, list[Edge]] = {}
        for edge in self._possible():
            ahead.setdefault(edge.one, []).append(edge)
        waiting = ["battery"]
        if self.coach_plugged:
            waiting.append("coach")
            self._reached.add("coach")
        while waiting:
            for edge in ahead.get(waiting.pop(), ()):
                self._fed.append(edge)
                if edge.two not in self._reached:
                    self._reached.add(edge.two)
                    waiting.append(edge.two)
        # The disconnect and the charge line carry both ways; each was listed from both ends.
        self._fed = list({edge.name: edge for edge in self._fed}.values())

    def _possible(self) -> Iterator[Edge]:
        if self._leg_closed("positive"):
            for one, two in (("battery", BUS), (BUS, "battery")):
                yield Edge("positive", one, two, "contact_ohm", "the battery's positive lead")
        line = self.map.charge_line
        if line is not None and self.coach_plugged:
            lands = "battery" if line.lands == "battery_side" else BUS
            for one, two in (("coach", lands), (lands, "coach")):
                yield Edge("landing", one, two, "contact_ohm", "where the charge line lands")
        for point, element in self.map.elements.items():
            yield from self._of_element(point, element)

    def _of_element(
        self, point: str, element: Terminal | Fuse | Relay | Switch | Outlet
    ) -> Iterator[Edge]:
        if isinstance(element, Fuse):
            yield from self._of_fuse(point, element)
        elif isinstance(element, Relay):
            rest = f"{point}@rest"
            outputs = [point, rest] if element.contact == "changeover" else [point]
            for output in outputs:
                if self._contact(output, element).value is not Value.OFF:
                    yield from self._feeding(output, element.feed, "contact_ohm")
        elif isinstance(element, (Terminal, Switch, Outlet)) and self._closed(point, element):
            setting = "harness_ohm" if isinstance(element, Outlet) else "contact_ohm"
            yield from self._feeding(point, feeds_of(element), setting)

    def _of_fuse(self, point: str, fuse: Fuse) -> Iterator[Edge]:
        yield from self._feeding(f"{point}@supply", fuse.feed, "harness_ohm")
        if self._closed(point, fuse):
            yield Edge(point, f"{point}@supply", point, "fuse", fuse.id)
        yield from self._feeding(point, fuse.backfeed, "harness_ohm", suffix="/back")

    def _feeding(
        self, point: str, feeds: tuple[str, ...], setting: str, suffix: str = ""
    ) -> Iterator[Edge]:
        label = f"the way to {point_words(point)}"
        for at, feed in enumerate(feeds):
            if feed != "unknown":
                yield Edge(f"{point}<{at}{suffix}", feed, point, setting, label)

    def _contact(self, point: str, relay: Relay) -> Answer:
        coil = self.paths.coil(relay.id)
        at_rest = point.endswith("@rest") or relay.contact == "normally_closed"
        return negate(coil) if at_rest else coil

    def _closed(self, point: str, element: Terminal | Fuse | Switch | Outlet) -> bool:
        """Does it carry? Where nobody knows it is taken to: the worse for its neighbours."""
        return closed(self.state, point, element).value is not Value.OFF

    # -- sources and grounds -----------------------------------------------------------

    def _leg_closed(self, leg: str) -> bool:
        recorded = self.map.disconnect
        where = self.state.disconnect_leg or (recorded.leg if recorded else None)
        return not (self.state.disconnect_open and where == leg)

    def _charge_line(self) -> Iterator[Edge]:
        line = self.map.charge_line
        half = "charge_way_ohm"
        yield Edge("charge out", "coach source", "coach", half, "the charge line")
        yield Edge("charge back", "ground:coach", "coach minus", half, "the charge line's ground")
        lands = {"body": "ground:body", "battery_post": "ground:post"}
        there = lands.get(line.ground) if line else None
        if there is not None:
            label = "the charge line's ground at the car"
            yield Edge("charge ground", "ground:coach", there, "contact_ohm", label)


def fuse_ohm(rating_a: float | None, figures: Mapping[str, Band]) -> Band:
    """A fuse's resistance in ohms: the volts it drops at its rating, over that rating.

    Without a rating it is taken as a contact, whose bounds are wider.
    """
    if not rating_a:
        return figures["contact_ohm"]
    return figures["fuse_volts_at_rating"] / band(rating_a)


def port_wire_ohm(
    connection: PortFeed, label: str, figures: Mapping[str, Band]
) -> tuple[Band, Known]:
    """A port's own wire, one way, in ohms: by gauge or mm² and length, else a setting.

    Raises InputError, naming the wire, for a gauge that does not exist.
    """
    wire = connection.wire or {}
    length, gauge, mm2 = wire.get("length_m"), wire.get("awg"), wire.get("mm2")
    if length is None or (gauge is None and mm2 is None):
        return figures["port_wire_ohm"], Known.ASSUMED
    try:
        if mm2 is not None:
            copper = area_mm2(Standard.METRIC, mm2=mm2)
        else:
            copper = area_mm2(Standard.SAE, gauge=gauge_number(gauge or 0))
        ohms = wire_ohms(
            copper,
            length,
            at_c=figures["wire_temperature_c"].value,
            lay=figures["strand_share"].value,
            ohm_mm2_per_m=figures["copper_ohm_mm2_per_m"].value,
            per_k=figures["copper_per_k"].value,
        )
    except InputError as fault:
        raise InputError(f"wire to {label}", fault.reason) from fault
    return band(ohms), Known.LISTED
