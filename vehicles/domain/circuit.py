"""Volts and amps of a fed network at rest: batteries, wires, fuses, contacts, body, loads.

``solve(network)`` is nodal analysis of a direct-current network. Everything that carries
current has a resistance above 0, the way back through the body as well: it is measured or an
assumed setting, never left out. A load draws a constant current or is a constant resistance;
where it would be left with less than ``hold_v`` a constant current is taken as the resistance
that draws it at ``hold_v``, because nothing draws 10 A from a dead wire.

Units: volts, amps, ohms, watts. A part without a complete way from a battery and back is at
0 V and draws nothing; that is an answer, not an error. Bad values raise ``InputError`` (field
and reason); a network that cannot be reckoned raises ``CircuitError``.

What hangs on assumptions is a band: see ``doubt.py``, which finds the bounds and the single
measurement that would narrow them most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

import numpy as np

from vehicles.domain.bands import Band, band
from vehicles.domain.circuit_frame import CircuitError, Frame
from vehicles.domain.inputs import InputError, positive
from vehicles.domain.limits import limit

__all__ = ["CircuitError", "Known", "Load", "Loss", "Network", "Resistor", "Solution", "Source"]

HOLD_V = 6.0


class Known(StrEnum):
    """Where a part's figures come from."""

    MEASURED = "measured"
    LISTED = "listed"
    ASSUMED = "assumed"


def _ends(name: str, one: str, two: str) -> None:
    if one == two:
        raise InputError(name, f"both of its ends are at {one}.")


@dataclass(frozen=True, slots=True)
class Source:
    """A battery: ``volts`` without load and ``ohms`` inside, between its two posts."""

    name: str
    plus: str
    minus: str
    volts: Band
    ohms: Band
    label: str = ""
    known: Known = Known.ASSUMED

    def __post_init__(self) -> None:
        _ends(self.name, self.plus, self.minus)
        positive(f"inner resistance of {self.label or self.name}", self.ohms.low)


@dataclass(frozen=True, slots=True)
class Resistor:
    """What carries current from ``one`` to ``two``: a wire, fuse, contact, or the body."""

    name: str
    one: str
    two: str
    ohms: Band
    kind: str = "wire"
    label: str = ""
    known: Known = Known.ASSUMED

    def __post_init__(self) -> None:
        _ends(self.name, self.one, self.two)
        positive(f"resistance of {self.label or self.name}", self.ohms.low)


@dataclass(frozen=True, slots=True)
class Load:
    """A consumer: exactly one of ``amps`` (constant current) and ``ohms`` is given."""

    name: str
    plus: str
    minus: str
    amps: Band | None = None
    ohms: Band | None = None
    label: str = ""
    known: Known = Known.LISTED

    def __post_init__(self) -> None:
        _ends(self.name, self.plus, self.minus)
        if (self.amps is None) == (self.ohms is None):
            raise InputError(
                self.label or self.name, "a load has a current or a resistance, one of the two."
            )
        if self.ohms is not None:
            positive(f"resistance of {self.label or self.name}", self.ohms.low)
        if self.amps is not None and self.amps.low < 0:
            raise InputError(
                f"current of {self.label or self.name}", "a load cannot draw less than nothing."
            )


Part = Source | Resistor | Load


@dataclass(frozen=True)
class Network:
    """Parts between named nodes. Raises InputError where two parts share a name."""

    sources: tuple[Source, ...] = ()
    resistors: tuple[Resistor, ...] = ()
    loads: tuple[Load, ...] = ()

    def __post_init__(self) -> None:
        twice = [name for name, n in Counter(part.name for part in self.parts).items() if n > 1]
        if twice:
            raise InputError(twice[0], "two parts of the network have this name.")

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every part, sources first, loads last."""
        return (*self.sources, *self.resistors, *self.loads)


def resistor(name: str, one: str, two: str, ohms: Band | float, **about: str) -> Resistor:
    """Build a resistor from plain values; ``known``, ``kind`` and ``label`` as in the class."""
    known = Known(about.pop("known", Known.ASSUMED))
    return Resistor(name, one, two, band(ohms), known=known, **about)


class Loss(NamedTuple):
    """Where power is lost: ``watts`` in a part that is no load, and the volts over it."""

    name: str
    label: str
    volts: float
    watts: float
    share: float


@dataclass(frozen=True)
class Solution:
    """The solved network.

    ``volts`` by node, against the negative post of the battery that reaches it (0 where none
    does); ``amps`` by part: out of a battery's plus, from ``one`` to ``two`` of a resistor, into
    a load. ``dead`` are loads without a complete circuit, ``starved`` those that the network
    cannot carry. ``notes`` are sentences about shorts and starved loads.
    """

    volts: Mapping[str, float]
    amps: Mapping[str, float]
    dead: tuple[str, ...]
    starved: tuple[str, ...]
    notes: tuple[str, ...]
    frame: Frame = field(repr=False, compare=False)

    def across(self, plus: str, minus: str) -> float:
        """Volts between two nodes; 0 where no battery reaches both (or either is not there)."""
        if not self.frame.together(plus, minus):
            return 0.0
        return self.volts[plus] - self.volts[minus]

    @cached_property
    def losses(self) -> tuple[Loss, ...]:
        """Where power is lost, the most first; insides of batteries included, loads left out."""
        return _losses(self.frame)

    @property
    def load_watts(self) -> float:
        """What arrives at the loads."""
        return self.frame.load_watts

    @property
    def lost_watts(self) -> float:
        """What is lost on the way, inside the batteries included."""
        return sum(loss.watts for loss in self.losses)


def solve(
    network: Network, *, short_a: float | None = None, hold_v: float | None = HOLD_V
) -> Solution:
    """Solve ``network`` at the values of its bands.

    ``short_a``: a battery that gives more amps than this is noted as shorted. ``hold_v`` as in
    the module; None leaves constant currents constant whatever volts are left, as a textbook
    does. Raises CircuitError where the figures differ by more than can be reckoned with.
    """
    bound = positive("short-circuit limit", limit("short_a") if short_a is None else short_a)
    if hold_v is not None:
        positive("hold voltage", hold_v)
    frame = Frame(network, hold_v=hold_v)
    names = [part.name for part in network.parts]
    amps = dict(zip(names, frame.amps.tolist(), strict=True))
    dead = tuple(load.name for load in network.loads if not frame.alive(load))
    starved = tuple(load.name for load in network.loads if load.name in frame.starved)
    notes = (*_shorts(frame, amps, bound), *_starved(network, frame, amps))
    return Solution(frame.volts, amps, dead, starved, notes, frame)


def _losses(frame: Frame) -> tuple[Loss, ...]:
    network = frame.network
    lossy: tuple[Source | Resistor, ...] = (*network.sources, *network.resistors)
    ohms = np.array([part.ohms.value for part in lossy])
    amps = frame.amps[: len(lossy)]
    watts = amps * amps * ohms
    total = float(watts.sum())
    order = np.argsort(-watts, kind="stable").tolist()
    dropped, lost = (amps * ohms).tolist(), watts.tolist()
    return tuple(
        Loss(part.name, part.label or part.name, abs(dropped[at]), lost[at], lost[at] / total)
        for at in order
        if lost[at] > 0
        for part in (lossy[at],)
    )


def _shorts(frame: Frame, amps: Mapping[str, float], bound: float) -> Iterator[str]:
    for source in frame.network.sources:
        if abs(amps[source.name]) <= bound:
            continue
        hottest = next((loss for loss in _losses(frame) if loss.name != source.name), None)
        where = f"; most of it in {hottest.label}" if hottest else ""
        yield (
            f"{source.label or source.name}: {abs(amps[source.name]):,.0f} A, more than "
            f"{bound:g} A: its posts are shorted{where}."
        )


def _starved(network: Network, frame: Frame, amps: Mapping[str, float]) -> Iterator[str]:
    for load in network.loads:
        if load.name in frame.starved and load.amps is not None:
            yield (
                f"{load.label or load.name}: the way to it cannot carry {load.amps.value:g} A; "
                f"it gets {amps[load.name]:.1f} A at {frame.load_volts(load):.1f} V."
            )
