"""Networks for tests: worked ones by hand, and random ones from a seed."""

from __future__ import annotations

import random

from vehicles.domain.bands import band
from vehicles.domain.circuit import Load, Network, Resistor, Source, resistor


def battery(volts: float = 12.6, ohms: float = 0.01) -> Source:
    """A car battery between `plus` and `minus`."""
    return Source("battery", "plus", "minus", band(volts), band(ohms), label="car battery")


def outlet_circuit(
    *, wire: float = 0.05, body: float = 0.01, amps: float | None = 10.0, ohms: float | None = None
) -> Network:
    """Battery, 15 A fuse, wire, one load, and the body as the way back."""
    return Network(
        (battery(),),
        (
            resistor("F08", "plus", "behind", 0.005, kind="fuse", label="F08"),
            resistor("wire", "behind", "outlet", wire, label="the wire to the outlet"),
            resistor("body", "body", "minus", body, kind="body", label="the body"),
        ),
        (
            Load(
                "unit",
                "outlet",
                "body",
                None if amps is None else band(amps),
                None if ohms is None else band(ohms),
                label="brake unit",
            ),
        ),
    )


def random_network(seed: int, *, nodes: int | None = None) -> Network:
    """A connected network: a tree of wires, cross wires, parallel ones, one to three batteries.

    Loads hang between any two nodes, so their constant currents are a textbook's (hold_v=None).
    """
    chance = random.Random(seed)
    count = nodes or chance.randint(3, 25)
    names = [f"n{number}" for number in range(count)]

    def ohms() -> float:
        return 10 ** chance.uniform(-3, -1.3)

    wires: list[Resistor] = [
        resistor(f"w{at}", names[at], names[chance.randrange(at)], ohms()) for at in range(1, count)
    ]
    for extra in range(chance.randint(0, count)):
        one, two = chance.sample(names, 2)
        wires.append(resistor(f"x{extra}", one, two, ohms()))
    sources = []
    for at in range(chance.randint(1, 3)):
        plus, minus = chance.sample(names, 2)
        volts = band(chance.uniform(11.5, 12.8))
        sources.append(Source(f"b{at}", plus, minus, volts, band(ohms())))
    loads = []
    for at in range(chance.randint(1, count)):
        plus, minus = chance.sample(names, 2)
        if chance.random() < 0.5:
            loads.append(Load(f"r{at}", plus, minus, ohms=band(chance.uniform(0.5, 50))))
        else:
            loads.append(Load(f"i{at}", plus, minus, amps=band(chance.uniform(0, 2))))
    return Network(tuple(sources), tuple(wires), tuple(loads))
