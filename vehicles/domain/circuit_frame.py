"""The matrices behind ``circuit.py`` and ``doubt.py``: assembly, solution, small changes.

Nodes become rows, parts become columns; every battery is a conductance with a voltage in it.
A part of the network without a battery, and the negative post of each battery's own island,
map to one spare row that is cut off again: both are 0 V.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from vehicles.domain.circuit import Load, Network

Floats = NDArray[np.float64]
# What the sum of currents at a node may be off, as a share of the currents that meet there
# (and of a thousandth of an ampere, where next to nothing flows).
_RESIDUE = 1e-6


class CircuitError(ValueError):
    """The network has no solution that can be trusted; ``str()`` of it is a sentence."""


def _islands(pairs: Iterable[tuple[str, str]], parent: dict[str, str]) -> dict[str, str]:
    """Join nodes pair by pair, going on from ``parent``; returns node -> its island's name."""
    for one, two in pairs:
        first, second = _top(parent, one), _top(parent, two)
        if first != second:
            parent[second] = first
    return {node: _top(parent, node) for node in parent}


def _top(parent: dict[str, str], node: str) -> str:
    above = parent.setdefault(node, node)
    while above != node:
        higher = parent[above]
        parent[node] = higher
        node, above = above, higher
    return node


class Frame:
    """One network as arrays, solved at the values of its bands.

    ``volts`` by node and ``amps`` by part in the order of ``network.parts``. ``siemens``,
    ``emf`` and ``draw`` hold conductance, voltage and constant current by part.
    """

    def __init__(self, network: Network, *, hold_v: float | None) -> None:
        self.network = network
        self._hold_v = hold_v
        self._index(network)
        self.starved: frozenset[str] = frozenset()
        self.siemens, self.emf, self.draw = self._values()
        self._settle()

    # -- who is connected to whom ------------------------------------------------------

    def _index(self, network: Network) -> None:
        ends = [(part.plus, part.minus) for part in network.sources]
        ends += [(part.one, part.two) for part in network.resistors]
        self._hard = _islands(ends, {})
        loads = [(load.plus, load.minus) for load in network.loads]
        ends += loads
        ohmic = [pair for pair, load in zip(loads, network.loads, strict=True) if load.ohms]
        # A load in the way joins two islands for the sums, but it is no wire to another load.
        self._soft = _islands(ohmic, dict(self._hard)) if ohmic else self._hard
        # The first battery's negative post is the zero of its island.
        zero: dict[str, str] = {}
        for source in network.sources:
            zero.setdefault(self._soft[source.minus], source.minus)
        self._powered = {self._hard[source.minus] for source in network.sources}
        self._zero = zero
        self.nodes = list(dict.fromkeys(node for pair in ends for node in pair))
        row: dict[str, int] = {}
        for node in self.nodes:
            island = zero.get(self._soft.get(node, ""))
            if island is not None and island != node:
                row[node] = len(row)
        self.size = len(row)
        spare = self.size
        self.plus = np.array([row.get(one, spare) for one, _ in ends], dtype=np.intp)
        self.minus = np.array([row.get(two, spare) for _, two in ends], dtype=np.intp)
        self._row, self._spare = row, spare

    def alive(self, load: Load) -> bool:
        """Is there a complete circuit through this load? Other loads in the way are no wire."""
        here = self._hard.get(load.plus)
        return here in self._powered and here == self._hard.get(load.minus)

    def together(self, one: str, two: str) -> bool:
        """Does one battery's island hold both nodes?"""
        here = self._soft.get(one)
        return here in self._zero and here == self._soft.get(two)

    def row_of(self, node: str) -> int:
        """The node's row; the spare one (``size``) for 0 V and for nodes that are not there."""
        return self._row.get(node, self._spare)

    # -- values ------------------------------------------------------------------------

    def _values(self) -> tuple[Floats, Floats, Floats]:
        net = self.network
        loads = [
            (0.0, load.amps.value if self.alive(load) else 0.0)
            if load.amps is not None
            else (1 / load.ohms.value if load.ohms else 0.0, 0.0)
            for load in net.loads
        ]
        siemens = [1 / source.ohms.value for source in net.sources]
        siemens += [1 / resistor.ohms.value for resistor in net.resistors]
        none = [0.0] * (len(net.resistors) + len(net.loads))
        emf = [source.volts.value for source in net.sources] + none
        draw = [0.0] * (len(net.sources) + len(net.resistors)) + [amps for _, amps in loads]
        siemens += [g for g, _ in loads]
        return np.array(siemens), np.array(emf), np.array(draw)

    def assemble(self, siemens: Floats, emf: Floats, draw: Floats) -> tuple[Floats, Floats]:
        """Matrices (batch, n, n) and right sides (batch, n) for values of shape (batch, parts)."""
        batch, n = siemens.shape[0], self.size + 1
        one, two = self.plus, self.minus
        cells = np.concatenate((one * n + one, two * n + two, one * n + two, two * n + one))
        weights = np.concatenate((siemens, siemens, -siemens, -siemens), axis=1)
        shift = np.arange(batch)[:, None]
        matrix: Floats = (
            np.bincount(
                (cells[None, :] + shift * (n * n)).ravel(),
                weights=weights.ravel(),
                minlength=batch * n * n,
            )
            .reshape(batch, n, n)
            .astype(np.float64, copy=False)
        )
        pushed = siemens * emf - draw
        right: Floats = (
            np.bincount(
                (np.concatenate((one, two))[None, :] + shift * n).ravel(),
                weights=np.concatenate((pushed, -pushed), axis=1).ravel(),
                minlength=batch * n,
            )
            .reshape(batch, n)
            .astype(np.float64, copy=False)
        )
        return matrix[:, :-1, :-1], right[:, :-1]

    def solved(self, siemens: Floats, emf: Floats, draw: Floats) -> Floats:
        """Volts by row, shape (batch, n + 1), the spare row 0, for values (batch, parts)."""
        found = np.zeros((siemens.shape[0], self.size + 1))
        if self.size:
            matrix, right = self.assemble(siemens, emf, draw)
            found[:, :-1] = _checked(matrix, right)
        return found

    def over(self, volts: Floats) -> Floats:
        """Volts over every part, shape (..., parts), for volts by row (..., n + 1)."""
        found: Floats = volts[..., self.plus] - volts[..., self.minus]
        return found

    def flowing(self, volts: Floats, siemens: Floats, emf: Floats, draw: Floats) -> Floats:
        """Amps of every part: out of a battery's plus, else from first to second end."""
        sources = len(self.network.sources)
        amps: Floats = siemens * (self.over(volts) - emf) + draw
        amps[..., :sources] *= -1
        return amps

    # -- the solution ------------------------------------------------------------------

    def _settle(self) -> None:
        """Solve; a load left with less than it holds on to becomes a resistance, and back.

        Each round decides anew for every load which of the two it is. A load's current never
        falls while its volts rise, so there is one answer, and the rounds run into it.
        """
        first = len(self.network.sources) + len(self.network.resistors)
        siemens, asked = self.siemens, self.draw
        low = np.zeros(len(asked), dtype=np.bool_)
        for _ in range(2 * len(self.network.loads) + 2):
            rows = self.solved(self.siemens[None], self.emf[None], self.draw[None])[0]
            if self._hold_v is None:
                break
            before, low = low, (asked > 0) & (self.over(rows) < self._hold_v)
            if (low == before).all():
                break
            self.siemens = np.where(low, asked / self._hold_v, siemens)
            self.draw = np.where(low, 0.0, asked)
        else:
            raise CircuitError(_UNSETTLED)
        self.starved = frozenset(self.network.loads[at - first].name for at in np.flatnonzero(low))
        self.rows = rows
        self.amps = self.flowing(rows, self.siemens, self.emf, self.draw)
        self.volts: Mapping[str, float] = dict(
            zip(self.nodes, rows[[self.row_of(n) for n in self.nodes]].tolist(), strict=True)
        )
        self.load_watts = float((self.over(rows) * self.amps)[first:].sum())

    def load_volts(self, load: Load) -> float:
        """Volts over one load."""
        return float(self.rows[self.row_of(load.plus)] - self.rows[self.row_of(load.minus)])

    def inverse(self) -> Floats:
        """Inverse of the matrix, with a row and a column of zeros for the spare node."""
        found = np.zeros((self.size + 1, self.size + 1))
        if self.size:
            matrix, _ = self.assemble(self.siemens[None], self.emf[None], self.draw[None])
            found[:-1, :-1] = np.linalg.inv(matrix[0])
        return found

    def rows_of(self, nodes: Sequence[str]) -> NDArray[np.intp]:
        """Row of every node in ``nodes``."""
        return np.array([self.row_of(node) for node in nodes], dtype=np.intp)


def _checked(matrix: Floats, right: Floats) -> Floats:
    try:
        found: Any = np.linalg.solve(matrix, right[..., None])[..., 0]
    except np.linalg.LinAlgError:
        raise CircuitError(_UNSOLVED) from None
    # Each row must add up to nothing, measured by the currents that meet in it.
    met = np.diagonal(matrix, axis1=1, axis2=2) * np.abs(found).max(axis=1, keepdims=True)
    off = np.abs((matrix @ found[..., None])[..., 0] - right)
    if not np.isfinite(found).all() or (off > _RESIDUE * (1e-3 + met)).any():
        raise CircuitError(_UNSOLVED)
    solved: Floats = found
    return solved


_UNSETTLED = (
    "The network has no single answer: its loads starve each other in turn. Look for a load that "
    "hangs between two feeds."
)
_UNSOLVED = (
    "The network has no single answer: its resistances differ by more than can be reckoned with. "
    "Look for a resistance that was typed in the wrong unit."
)
