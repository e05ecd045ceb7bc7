"""Bounds of volts and amps in a network, and which single measurement would narrow them most.

Every part's figure is a band. ``bounds(network, ports, parts)`` first moves each doubtful
figure alone to both of its ends (exactly, by a change of rank one), which tells in which
direction it works and how far; then it solves the network with all of them at their
bad ends together and at their good ends together. A voltage or current moves in one
direction with each figure as long as the others stand still, so these corners are the bounds
wherever the directions do not change on the way; random sampling in the tests stays inside.

The doubt of a voltage is told part by part: ``Doubt.volts`` is by how much the voltage moves
when this part alone goes from end to end, so the first of them is the one to measure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vehicles.domain.bands import Band
from vehicles.domain.circuit import HOLD_V, Known, Load, Network, Resistor, Solution, Source
from vehicles.domain.circuit_frame import Floats, Frame
from vehicles.domain.inputs import InputError

Rows = NDArray[np.intp]
# A part that moves a voltage by less than this is not worth a sentence.
_NOTHING_V = 1e-6
_MEASURED_AS = {"emf": "volts", "siemens": "ohms", "draw": "amps"}


class Doubt(NamedTuple):
    """One doubtful figure: ``what`` (volts, ohms or amps) of which ``part``, what to do about it
    (``measure``), and the volts of the port that hang on it."""

    part: str
    what: str
    measure: str
    volts: float
    known: Known


@dataclass(frozen=True)
class Bounds:
    """``volts`` by port and ``amps`` by part as bands, and each port's doubts, largest first."""

    volts: Mapping[str, Band]
    amps: Mapping[str, Band]
    doubts: Mapping[str, tuple[Doubt, ...]]

    def best_measurement(self, port: str) -> Doubt | None:
        """The doubt whose measurement would narrow the port's volts most; None if none is left.

        What was measured already comes last: measuring it again tells little.
        """
        found = self.doubts[port]
        return min(
            found, key=lambda doubt: (doubt.known is Known.MEASURED, -doubt.volts), default=None
        )


class _Figure(NamedTuple):
    """One doubtful figure: the part's column, what it is, and its two ends."""

    column: int
    name: str
    what: str
    low: float
    high: float
    measure: str
    known: Known


def bounds(
    network: Network,
    ports: Mapping[str, tuple[str, str]],
    parts: Sequence[str] = (),
    *,
    hold_v: float | None = HOLD_V,
    solved: Solution | None = None,
) -> Bounds:
    """Bounds of the volts over ``ports`` (name -> plus and minus node) and the amps of ``parts``.

    Volts at a load's port never go below 0 here: a load that the worst case would starve is
    taken to have nothing. ``solved`` is what ``solve`` made of this very network, where that is
    at hand. Raises InputError for a part that is not in the network, and
    CircuitError as ``solve`` does.
    """
    columns = {part.name: at for at, part in enumerate(network.parts)}
    for name in parts:
        if name not in columns:
            raise InputError(name, "no part of the network has this name.")
    frame = solved.frame if solved is not None else Frame(network, hold_v=hold_v)
    figures = _figures(network, frame)
    ends = [pair if frame.together(*pair) else ("", "") for pair in ports.values()]
    plus, minus = frame.rows_of([p for p, _ in ends]), frame.rows_of([m for _, m in ends])
    chosen = np.array([columns[name] for name in parts], dtype=np.intp)
    reader = _Reader(frame, plus, minus, chosen)
    middle = reader.read(frame.rows[None], frame.siemens[None], frame.emf[None], frame.draw[None])[
        0
    ]
    swings = reader.swings(figures)
    low, high = reader.corners(figures, swings, middle)
    volts = len(ends)
    low[:volts] = np.where(middle[:volts] >= 0, np.maximum(low[:volts], 0.0), low[:volts])
    bands = [
        Band(value, min(value, one), max(value, two))
        for value, one, two in zip(middle.tolist(), low.tolist(), high.tolist(), strict=True)
    ]
    return Bounds(
        dict(zip(ports, bands[:volts], strict=True)),
        dict(zip(parts, bands[volts:], strict=True)),
        {port: _doubts(figures, swings[at]) for at, port in enumerate(ports)},
    )


def _figures(network: Network, frame: Frame) -> list[_Figure]:
    found = []
    for column, part in enumerate(network.parts):
        label = part.label or part.name
        if isinstance(part, Load) and part.amps is not None:
            if not part.amps.certain and frame.draw[column]:
                found.append(
                    _Figure(column, part.name, "draw", part.amps.low, part.amps.high,
                            f"measure the current of {label}", part.known)
                )  # fmt: skip
            continue
        if isinstance(part, Source) and not part.volts.certain:
            found.append(
                _Figure(column, part.name, "emf", part.volts.low, part.volts.high,
                        f"measure the volts of {label} without load", part.known)
            )  # fmt: skip
        ohms = part.ohms
        if ohms is not None and not ohms.certain:
            found.append(
                _Figure(column, part.name, "siemens", 1 / ohms.high, 1 / ohms.low,
                        _ohms_words(part), part.known)
            )  # fmt: skip
    return found


def _ohms_words(part: Source | Resistor | Load) -> str:
    label = part.label or part.name
    if isinstance(part, Source):
        return f"measure how far the volts of {label} fall under a known load"
    if isinstance(part, Load):
        return f"measure the current of {label}"
    return f"measure the volts lost in {label} under load"


def _doubts(figures: Sequence[_Figure], swings: Floats) -> tuple[Doubt, ...]:
    doubts = [
        Doubt(figure.name, _MEASURED_AS[figure.what], figure.measure, swing, figure.known)
        for figure, swing in zip(figures, np.abs(swings).tolist(), strict=True)
        if swing > _NOTHING_V
    ]
    return tuple(sorted(doubts, key=lambda doubt: -doubt.volts))


class _Reader:
    """Reads the wanted values off solutions: volts over ports first, then amps of parts."""

    def __init__(self, frame: Frame, plus: Rows, minus: Rows, chosen: Rows) -> None:
        self.frame = frame
        self.plus, self.minus, self.chosen = plus, minus, chosen

    def read(self, rows: Floats, siemens: Floats, emf: Floats, draw: Floats) -> Floats:
        """Values of shape (batch, wanted) for solutions (batch, n + 1) and their figures."""
        over = rows[:, self.plus] - rows[:, self.minus]
        amps = self.frame.flowing(rows, siemens, emf, draw)[:, self.chosen]
        found: Floats = np.concatenate((over, amps), axis=1)
        return found

    def _moved(self, figures: Sequence[_Figure]) -> tuple[Floats, Floats]:
        """Solutions (figures, n + 1) with one figure each at its low, and at its high end."""
        frame, columns = self.frame, [figure.column for figure in figures]
        inverse = frame.inverse()
        one, two = frame.plus[columns], frame.minus[columns]
        # What one ampere pushed through each part does to every node, and to the part itself.
        push = inverse[:, one] - inverse[:, two]
        every = np.arange(len(columns))
        itself = push[one, every] - push[two, every]
        over = frame.rows[one] - frame.rows[two]
        siemens, emf, draw = frame.siemens[columns], frame.emf[columns], frame.draw[columns]
        kinds = np.array([figure.what for figure in figures])

        def moved(ends: Floats) -> Floats:
            step = np.where(kinds == "siemens", ends - siemens, 0.0)
            change = step * (emf - over) / (1 + step * itself)
            change += np.where(kinds == "emf", siemens * (ends - emf), 0.0)
            change += np.where(kinds == "draw", draw - ends, 0.0)
            found: Floats = (frame.rows[:, None] + push * change[None, :]).T
            return found

        lows = np.array([figure.low for figure in figures])
        return moved(lows), moved(np.array([figure.high for figure in figures]))

    def _values(self, figures: Sequence[_Figure], *, high: bool) -> tuple[Floats, Floats, Floats]:
        """Figures (figures, parts): the middle ones, with one figure each at one end."""
        found = {
            name: np.repeat(getattr(self.frame, name)[None], len(figures), axis=0)
            for name in ("siemens", "emf", "draw")
        }
        for row, figure in enumerate(figures):
            found[figure.what][row, figure.column] = figure.high if high else figure.low
        return found["siemens"], found["emf"], found["draw"]

    def swings(self, figures: Sequence[_Figure]) -> Floats:
        """Change of every wanted value (wanted, figures) from a figure's low to its high end."""
        if not figures:
            return np.zeros((len(self.plus) + len(self.chosen), 0))
        low, high = self._moved(figures)
        change = self.read(high, *self._values(figures, high=True)) - self.read(
            low, *self._values(figures, high=False)
        )
        found: Floats = change.T
        return found

    def corners(
        self, figures: Sequence[_Figure], swings: Floats, middle: Floats
    ) -> tuple[Floats, Floats]:
        """The lowest and the highest of every wanted value, all figures at their ends."""
        if not figures or not middle.size:
            return middle.copy(), middle.copy()
        rising = swings > 0
        # Many wanted values ask for the same corner; each is solved once.
        asked = np.concatenate((~rising, rising))
        seen: dict[bytes, int] = {}
        which = np.array([seen.setdefault(row.tobytes(), len(seen)) for row in asked])
        corners = np.array([np.frombuffer(row, dtype=np.bool_) for row in seen])
        frame, lows = self.frame, np.array([figure.low for figure in figures])
        highs = np.array([figure.high for figure in figures])
        taken = np.where(corners, highs, lows)
        values = {
            name: np.repeat(getattr(frame, name)[None], len(corners), axis=0)
            for name in ("siemens", "emf", "draw")
        }
        for at, figure in enumerate(figures):
            values[figure.what][:, figure.column] = taken[:, at]
        rows = frame.solved(values["siemens"], values["emf"], values["draw"])
        read = self.read(rows, values["siemens"], values["emf"], values["draw"])
        wanted = np.arange(len(middle))
        return read[which[: len(middle)], wanted], read[which[len(middle) :], wanted]
