"""How long the numbers take in pure Python and numpy: a network, a vehicle, its bounds."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from installs.domain.needs import judge
from installs.domain.numeric import numbers_of
from installs.domain.sheet import parse_sheet
from tests.bench.judging import vehicle_sheet
from vehicles.domain.bands import Band, band
from vehicles.domain.circuit import Load, Network, Source, resistor, solve
from vehicles.domain.doubt import bounds

Figure = dict[str, Any]

NODES = 200
NETWORK_MS = 5.0
BOUNDS_MS = 60.0
VEHICLE_MS = 10.0
TIMES_BARE = 20.0
ROUNDS = 15


def network(*, doubt: float = 0.0) -> Network:
    """A battery, a tree of wires with cross wires over 200 nodes, 100 loads."""
    chance = random.Random(7)
    nodes = [f"n{at}" for at in range(NODES)]

    def ohms() -> Band:
        value = chance.uniform(0.001, 0.1)
        return Band(value, value * (1 - doubt), value * (1 + doubt))

    wires = [resistor(f"w{at}", nodes[at], nodes[chance.randrange(at)], ohms())
             for at in range(1, NODES)]  # fmt: skip
    for at in range(100):
        one, two = chance.sample(nodes, 2)
        wires.append(resistor(f"x{at}", one, two, ohms()))
    wires.append(resistor("body", "body", "minus", band(0.01), kind="body"))
    loads = [Load(f"l{at}", chance.choice(nodes), "body", amps=band(chance.uniform(0, 0.5)))
             for at in range(100)]  # fmt: skip
    battery = Source("battery", "n0", "minus", band(12.6), band(0.01))
    return Network((battery,), tuple(wires), tuple(loads))


def best_of(work: Callable[[], object], times: int = ROUNDS) -> float:
    """The quickest of several runs in milliseconds of this thread.

    A busy machine only adds to it, and threads that a matrix library keeps spinning between two
    calls are not our work.
    """
    found = []
    for _ in range(times):
        start = time.thread_time()
        work()
        found.append(time.thread_time() - start)
    return min(found) * 1000


def bench_network(database: str) -> list[Figure]:
    """200 nodes solved, beside numpy's bare `solve` of that size, and with all their bounds."""
    if database != "sqlite":
        return []
    plain, doubtful = network(), network(doubt=0.2)
    ports = {"far": (f"n{NODES - 1}", "body")}
    size = NODES + 1
    matrix = np.eye(size) * size + np.random.default_rng(7).random((size, size))
    right = np.ones(size)
    bare = best_of(lambda: np.linalg.solve(matrix, right))
    solved = best_of(lambda: solve(plain))
    bounded = best_of(lambda: bounds(doubtful, ports), 5)
    scale = f"{NODES} nodes, {len(plain.parts)} parts"
    return [
        figure("solving a network", solved, "ms", NETWORK_MS, scale),
        figure("solving a network, times bare numpy", solved / bare, "times", TIMES_BARE, scale),
        figure("bounds of a network, all wires in doubt", bounded, "ms", BOUNDS_MS, scale),
    ]


def bench_vehicle(database: str) -> list[Figure]:
    """One vehicle judged in answers and in numbers: volts, bounds, doubts and fuses."""
    if database != "sqlite":
        return []
    sheet = parse_sheet(vehicle_sheet())

    def whole() -> None:
        numbers_of(sheet, views=judge(sheet).views)

    whole()
    scale = "12 fuses, 10 fittings, 3 states"
    return [figure("numbers of one vehicle", best_of(whole), "ms", VEHICLE_MS, scale)]


def figure(name: str, value: float, unit: str, limit: float | None, scale: str) -> Figure:
    return {"name": name, "value": value, "unit": unit, "limit": limit, "scale": scale}
