"""The fed network of one vehicle in one state, built from its feed map and fittings.

``network_of(sheet, state)`` lays the same connections that ``vehicles/domain/feeds.py`` walks
as resistances between named nodes, so that ``circuit.solve`` and ``doubt.bounds`` can tell volts
and amps. Nodes are the feed map's points (``fuse:F08``, ``outlet:dash``), the grounds
(``ground:body``, ``ground:post``, ``ground:coach``, ``ground:switch:S1``) and both ends of every
fitted port (``A1.power+``, ``A1.power-``).

A feed map records no lengths, so the car's own wires, contacts and body are settings with
bounds (``limits.py``), until a reading by the part's name replaces one. The way back through
the body is one resistance for all who share it, never zero. A feed is one-way as on the map: a
branch that no source reaches is left out, because "any one is enough" is no cross-feed.

What stays open is told: ``FedPort.unknown`` where a port's number would be worth nothing, and
``left_out`` for consumers of the car whose current nobody recorded.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from installs.domain.ports import KindPort, PortFeed
from installs.domain.sheet import Sheet
from installs.domain.views import Views
from installs.domain.wiring import (
    Wiring,
    fuse_ohm,
    port_wire_ohm,
)
from vehicles.domain.answers import Answer, Value
from vehicles.domain.bands import Band, Unknown, band
from vehicles.domain.circuit import Known, Load, Network, Resistor, Source
from vehicles.domain.feedmap import Fuse
from vehicles.domain.inputs import InputError
from vehicles.domain.limits import LIMITS
from vehicles.domain.procedure import states_of

__all__ = ["DRAWS", "FedNetwork", "FedPort", "Readings", "network_of"]

# Which of a kind's currents a network is drawn with.
DRAWS = ("standby_a", "working_a", "peak_a")
POST = "ground:post"


@dataclass(frozen=True)
class Readings:
    """What was measured on this vehicle; it replaces settings and listed figures.

    ``ohms`` by part of the network (``body``, ``wire:A1.power``, ``fuse:F08``), ``volts`` by
    source (``battery``, ``coach``), ``amps`` by consumer (``A1.power``, ``load:radio``). Values
    are bands: a reading with its meter's error.
    """

    ohms: Mapping[str, Band] = field(default_factory=dict)
    volts: Mapping[str, Band] = field(default_factory=dict)
    amps: Mapping[str, Band] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FedPort:
    """A fitted port in the network: its two nodes, what the walk answers, what is missing."""

    user: str
    label: str
    plus: str
    minus: str
    answer: Answer
    unknown: Unknown | None


@dataclass(frozen=True)
class FedNetwork:
    """The network with its ports by user, its fuses (fuse id -> part), and what is not in it.

    ``behind_ports`` are the fuses of the map that stand behind a fitted part here.
    """

    state: str
    network: Network
    ports: Mapping[str, FedPort]
    fuses: Mapping[str, str]
    left_out: tuple[str, ...]
    behind_ports: frozenset[str]

    @property
    def nodes(self) -> dict[str, tuple[str, str]]:
        """Plus and minus node of every port, as ``doubt.bounds`` wants them."""
        return {user: (port.plus, port.minus) for user, port in self.ports.items()}


def network_of(
    sheet: Sheet,
    state: str,
    *,
    views: Views | None = None,
    readings: Readings | None = None,
    settings: Mapping[str, Band] | None = None,
    draw: str = "peak_a",
) -> FedNetwork:
    """Build the fed network of ``sheet`` in ``state`` (drive, tow, breakaway, also with +pedal).

    ``views`` are the walks of a judgement that was already made. ``settings`` replace starting
    values of ``limits.py`` by code. ``draw`` chooses the current of fitted parts: ``standby_a``,
    ``working_a`` or ``peak_a``; one without that figure is taken as anything up to the weakest
    rating behind it, and its own volts are unknown. Raises InputError for another ``draw`` and
    for a state that is not there.
    """
    if draw not in DRAWS:
        raise InputError("draw", f"“{draw}” is none of {', '.join(DRAWS)}.")
    walks = views or Views(sheet.feed_map, states_of(sheet.procedure, sheet.feed_map))
    if state.removesuffix("+pedal") not in walks.states:
        raise InputError("state", f"“{state}” is none of {', '.join(walks.states)}.")
    figures = {code: limit.band for code, limit in LIMITS.items()} | dict(settings or {})
    return _Builder(sheet, state, walks, readings or Readings(), figures, draw).built()


class _Builder:
    def __init__(
        self,
        sheet: Sheet,
        state: str,
        views: Views,
        readings: Readings,
        figures: Mapping[str, Band],
        draw: str,
    ) -> None:
        self.sheet, self.views, self.readings = sheet, views, readings
        self.figures, self.draw, self.state = figures, draw, state
        self.wiring = Wiring(sheet.feed_map, views.path(state))
        self.resistors: list[Resistor] = []
        self.loads: list[Load] = []
        self.ports: dict[str, FedPort] = {}
        self.fuses: dict[str, str] = {}
        self.left_out: list[str] = []
        self.starts: list[str] = []

    def built(self) -> FedNetwork:
        for name, one, two, code, label in self.wiring.edges():
            if code == "fuse":
                self._fuse(name, one, two)
            else:
                self._add(name, one, two, self.figures[code], "contact", label)
        for user, label, port, connection in _places(self.sheet):
            self._port(user, label, port, connection)
        self._car_loads()
        behind = self.wiring.fuses_behind(self.starts)
        network = Network(tuple(self._sources()), tuple(self.resistors), tuple(self.loads))
        return FedNetwork(self.state, network, self.ports, self.fuses, tuple(self.left_out), behind)

    def _add(
        self,
        name: str,
        one: str,
        two: str,
        ohms: Band,
        kind: str,
        label: str,
        known: Known = Known.ASSUMED,
    ) -> None:
        read = self.readings.ohms.get(name)
        if read is not None:
            ohms, known = read, Known.MEASURED
        self.resistors.append(Resistor(name, one, two, ohms, kind, label, known))

    def _fuse(self, name: str, one: str, two: str) -> None:
        fuse: Fuse = self.sheet.feed_map.elements[name]
        ohms = fuse_ohm(fuse.rating_a, self.figures)
        self._add(name, one, two, ohms, "fuse", fuse.id, Known.LISTED)
        self.fuses[fuse.id] = name

    def _sources(self) -> Iterator[Source]:
        yield self._source("battery", "battery", POST, "car_volts", "the car's battery")
        if self.wiring.coach_plugged:
            yield self._source("coach", "coach source", "coach minus", "coach_volts", "the coach")

    def _source(self, name: str, plus: str, minus: str, code: str, label: str) -> Source:
        read = self.readings.volts.get(name)
        ohms = self.readings.ohms.get(name, self.figures["battery_ohm"])
        known = Known.ASSUMED if read is None else Known.MEASURED
        volts = self.figures[code] if read is None else read
        return Source(name, plus, minus, volts, ohms, label, known)

    # -- consumers ---------------------------------------------------------------------

    def _port(self, user: str, label: str, port: KindPort, connection: PortFeed) -> None:
        answer = self.views.port(self.state, connection)
        plus, minus = f"{user}+", f"{user}-"
        amps, missing = self._amps(user, label, port, connection)
        ohms, known, wrong = self._wire(label, connection)
        unknown = _unknown(label, answer, connection) or wrong or missing
        self.ports[user] = FedPort(user, label, plus, minus, answer, unknown)
        if answer.value is Value.OFF or not self.wiring.reaches(connection.feed):
            return
        there = self.wiring.ground(connection.ground)
        if there is None:
            return
        start = connection.feed
        self.starts.append(start)
        if connection.own_fuse_a is not None:
            start = f"{user} behind its fuse"
            own = fuse_ohm(connection.own_fuse_a, self.figures)
            name = f"own fuse:{user}"
            self._add(
                name, connection.feed, start, own, "fuse", f"{label}'s own fuse", Known.LISTED
            )
        self._add(f"wire:{user}", start, plus, ohms, "wire", f"the wire to {label}", known)
        wired = connection.ground in ("battery_negative_post", "coach")
        back = ohms if wired else self.figures["contact_ohm"]
        what = f"the return wire of {label}" if wired else f"{label}'s ground"
        self._add(f"return:{user}", minus, there, back, "wire", what, known)
        origin = Known.MEASURED if user in self.readings.amps else Known.LISTED
        if amps.high > 0:
            self.loads.append(Load(user, plus, minus, amps=amps, label=label, known=origin))

    def _wire(self, label: str, connection: PortFeed) -> tuple[Band, Known, Unknown | None]:
        """The port's wire; a record that cannot be costs this port its number, not the vehicle."""
        try:
            return *port_wire_ohm(connection, label, self.figures), None
        except InputError as fault:
            return self.figures["port_wire_ohm"], Known.ASSUMED, Unknown((f"correct it: {fault}",))

    def _amps(
        self, user: str, label: str, port: KindPort, connection: PortFeed
    ) -> tuple[Band, Unknown | None]:
        read = self.readings.amps.get(user)
        listed = getattr(port, self.draw)
        if read is not None or listed is not None:
            return read or band(listed), None
        # It cannot take more for long than the weakest fuse or socket behind it lets through.
        most = self.wiring.weakest_a(connection.feed, connection.own_fuse_a)
        most = self.figures["unlisted_a"].high if most is None else most
        return Band(most / 2, 0.0, most), Unknown((f"measure the current of {label}",))

    def _car_loads(self) -> None:
        for load in self.sheet.feed_map.loads:
            name = f"load:{load.id}"
            amps = self.readings.amps.get(name)
            if self.views.load(self.state, load).value is Value.OFF:
                continue
            feeds = [feed for feed in load.feed if self.wiring.reaches(feed)]
            ground = self.wiring.ground(load.ground)
            if not feeds or ground is None:
                continue
            label = load.name or load.id
            if amps is None and load.peak_a is None:
                self.left_out.append(label)
                continue
            for at, feed in enumerate(feeds):
                self._add(
                    f"{name}/{at}", feed, name, self.figures["harness_ohm"], "wire",
                    f"the wire to {label}",
                )  # fmt: skip
            drawn = amps or band(load.peak_a or 0.0)
            origin = Known.LISTED if amps is None else Known.MEASURED
            self.loads.append(Load(name, name, ground, amps=drawn, label=label, known=origin))
        for relay, feed, ground in self.wiring.coils():
            ohms = self.figures["coil_ohm"]
            label = f"the coil of relay {relay}"
            self.loads.append(
                Load(f"coil:{relay}", feed, ground, ohms=ohms, label=label, known=Known.ASSUMED)
            )


def _unknown(label: str, answer: Answer, connection: PortFeed) -> Unknown | None:
    if connection.feed == "own":
        return Unknown((f"measure the own battery of {label} under load",))
    if answer.value is Value.UNKNOWN:
        return Unknown((f"measure whether {label} is alive: {answer.why}",))
    return None


def _places(sheet: Sheet) -> Iterator[tuple[str, str, KindPort, PortFeed]]:
    """User, label, port and connection of every port that somebody recorded."""
    kinds = [fitting.kind for fitting in sheet.fittings]
    for fitting in sheet.fittings:
        kind = sheet.kinds[fitting.kind]
        twins = kinds.count(fitting.kind) > 1
        name = f"{kind.name} {fitting.serial or fitting.id}" if twins else kind.name
        for port in kind.ports:
            connection = fitting.ports.ports.get(port.name)
            if connection is not None:
                label = f"{name}, {port.name.replace('_', ' ')}"
                yield f"{fitting.id}.{port.name}", label, port, connection
