"""The numbers of a vehicle: volts at every port, amps through every fuse, held to their limits.

``numbers_of(sheet)`` builds the fed network of each state, bounds it, and judges: volts at a
port against the least it needs, each fuse on the way to a fitted part between its load and its
wire. Where a number would be worth nothing it says what to measure instead; where it is a wide
band it names the single measurement that would narrow it most. Units: volts, amps, watts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from installs.domain.network import FedNetwork, FedPort, Readings, network_of
from installs.domain.sheet import Sheet
from installs.domain.views import Views
from vehicles.domain.answers import Value
from vehicles.domain.bands import Band, Held, Unknown, at_least
from vehicles.domain.circuit import Loss, Solution, solve
from vehicles.domain.doubt import Bounds, Doubt, bounds
from vehicles.domain.feedmap import Fuse
from vehicles.domain.fuse import CONTINUOUS_SHARE, Amps, BladeSize, FuseVerdict, fuse_verdict
from vehicles.domain.limits import limit
from vehicles.domain.procedure import states_of
from vehicles.domain.state import STATE_NAMES


@dataclass(frozen=True, slots=True)
class PortVolts:
    """One port in one state: its volts held against the least wanted, and the best measurement.

    ``volts`` is None and ``held.measure`` says what is missing where they are unknown. A dead
    port has 0 V without doubt and nothing to be held against: ``held`` is None.
    """

    user: str
    label: str
    volts: Band | None
    held: Held | None
    doubts: tuple[Doubt, ...]
    best: Doubt | None


@dataclass(frozen=True, slots=True)
class FuseAmps:
    """One fuse in one state: the amps through it, and the two-sided rule."""

    fuse: str
    amps: Band
    verdict: FuseVerdict


@dataclass(frozen=True)
class StateNumbers:
    """All numbers of one state; ``fed`` is the network behind them, ``solved`` its solution."""

    state: str
    ports: Mapping[str, PortVolts]
    fuses: Mapping[str, FuseAmps]
    solved: Solution
    fed: FedNetwork

    @property
    def losses(self) -> tuple[Loss, ...]:
        """Where power is lost, the most first."""
        return self.solved.losses

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences about shorts and loads that the wiring cannot carry."""
        return self.solved.notes


def numbers_of(
    sheet: Sheet,
    *,
    views: Views | None = None,
    states: Iterable[str] = STATE_NAMES,
    readings: Readings | None = None,
    settings: Mapping[str, Band] | None = None,
    least_v: float | None = None,
    share: Amps = CONTINUOUS_SHARE,
    draw: str = "peak_a",
) -> dict[str, StateNumbers]:
    """Judge the numbers of ``sheet`` in every one of ``states``.

    ``views`` are the walks of a judgement already made; ``readings``, ``settings`` and ``draw`` as
    in ``network_of``; ``least_v`` the volts that a live port needs (default: ``port_volts`` of
    ``settings``, else its starting value); ``share`` what a lasting load may use of a fuse. A port
    whose recorded wire cannot be (a gauge that does not exist) is unknown and says what to correct.
    Raises InputError for settings or readings that cannot be, CircuitError as ``solve`` does.
    """
    walks = views or Views(sheet.feed_map, states_of(sheet.procedure, sheet.feed_map))
    given = settings or {}
    least = given["port_volts"].value if "port_volts" in given else limit("port_volts")
    least = least if least_v is None else least_v
    short = given["short_a"].value if "short_a" in given else None
    found: dict[str, StateNumbers] = {}
    for state in states:
        fed = network_of(sheet, state, views=walks, readings=readings, settings=settings, draw=draw)
        # Without a charge line the pin changes nothing: what is equal is solved once.
        twin = next((old for old in found.values() if replace(old.fed, state=state) == fed), None)
        if twin is not None:
            found[state] = replace(twin, state=state, fed=fed)
        else:
            found[state] = _numbers(sheet, fed, least, share, short)
    return found


def _numbers(
    sheet: Sheet, fed: FedNetwork, least: float, share: Amps, short_a: float | None
) -> StateNumbers:
    fuses = {name: part for name, part in fed.fuses.items() if part in fed.behind_ports}
    solved = solve(fed.network, short_a=short_a)
    bounded = bounds(fed.network, fed.nodes, tuple(fuses.values()), solved=solved)
    ports = {user: _port(port, bounded, least) for user, port in fed.ports.items()}
    judged = {
        name: _fuse(sheet.feed_map.elements[part], bounded.amps[part], share)
        for name, part in fuses.items()
    }
    return StateNumbers(fed.state, ports, judged, solved, fed)


def _port(port: FedPort, bounded: Bounds, least: float) -> PortVolts:
    user, label = port.user, port.label
    volts = bounded.volts[user]
    if port.answer.value is Value.OFF:
        return PortVolts(user, label, volts, None, (), None)
    value: Band | Unknown = volts if port.unknown is None else port.unknown
    held = at_least(label, value, least, unit="V")
    best = bounded.best_measurement(user)
    return PortVolts(user, label, held.value, held, bounded.doubts[user], best)


def _fuse(fuse: Fuse, amps: Band, share: Amps) -> FuseAmps:
    size = BladeSize(fuse.blade) if fuse.blade in tuple(BladeSize) else None
    load = _either_way(amps)
    verdict = fuse_verdict(
        fuse.rating_a, load, fuse.wire_ampacity_a, share=share, socket_a=fuse.socket_a, size=size
    )
    return FuseAmps(fuse.id, load, verdict)


def _either_way(amps: Band) -> Band:
    """The size of a current whatever its direction: a fuse does not care."""
    ends = sorted((abs(amps.low), abs(amps.high)))
    return Band(abs(amps.value), 0.0 if amps.low < 0 < amps.high else ends[0], ends[1])
