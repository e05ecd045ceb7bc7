"""Volts and amps against solvers that share nothing with ours.

1. Debian's ngspice, where it is installed (in CI it has to be): every network goes into one
   netlist, and the printed operating point is compared.
2. A formulation of our own for tests, by another law: branch currents as unknowns, Kirchhoff's
   current law at the nodes and his voltage law around the loops of a spanning tree that
   networkx finds. Ours knows node voltages only and never looks for a loop.

Worked examples are reckoned by hand beside the check.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from functools import cache
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest

from tests.factories.networks import battery, outlet_circuit, random_network
from vehicles.domain.bands import band
from vehicles.domain.circuit import Load, Network, Source, resistor, solve
from vehicles.domain.wire import METRES_PER_FOOT, awg_area_mm2, wire_ohms

RANDOM = 200
TOLERANCE = 1e-6


def divider() -> Network:
    """10 V behind 1 Ω on 2 Ω and 2 Ω in a row: 2 A, 8 V and 4 V."""
    return Network(
        (Source("e", "a", "0v", band(10), band(1)),),
        (resistor("r", "a", "b", 2),),
        (Load("l", "b", "0v", ohms=band(2)),),
    )


def bridge() -> Network:
    """A bridge out of balance: 10 V (1 mΩ) on 1 and 2 Ω, 3 and 4 Ω, 5 Ω across."""
    return Network(
        (Source("e", "top", "low", band(10), band(0.001)),),
        (
            resistor("r1", "top", "left", 1),
            resistor("r2", "left", "low", 2),
            resistor("r3", "top", "right", 3),
            resistor("r4", "right", "low", 4),
        ),
        (Load("l", "left", "right", ohms=band(5)),),
    )


def two_batteries() -> Network:
    """A coach's 14.2 V through a charge line into a battery of 12.6 V that also feeds 6 A."""
    return Network(
        (battery(12.6, 0.02), Source("coach", "line", "back", band(14.2), band(0.01))),
        (
            resistor("out", "line", "plus", 0.15),
            resistor("home", "minus", "back", 0.12),
            resistor("body", "body", "minus", 0.01),
        ),
        (Load("unit", "plus", "body", amps=band(6)),),
    )


WORKED = [
    divider(),
    bridge(),
    two_batteries(),
    outlet_circuit(),
    outlet_circuit(amps=None, ohms=1.2),
]


def networks() -> list[Network]:
    return [*WORKED, *(random_network(seed) for seed in range(RANDOM))]


# -- by loops --------------------------------------------------------------------------


def by_loops(network: Network) -> dict[str, float]:
    """Amps by part, in our directions, from branch currents and loops."""
    branches = [(s.name, s.minus, s.plus, s.ohms.value, s.volts.value) for s in network.sources]
    branches += [(r.name, r.one, r.two, r.ohms.value, 0.0) for r in network.resistors]
    pushed: dict[str, float] = {}
    found = {}
    for load in network.loads:
        if load.ohms:
            branches.append((load.name, load.plus, load.minus, load.ohms.value, 0.0))
        else:
            found[load.name] = load.amps.value
            pushed[load.plus] = pushed.get(load.plus, 0.0) - load.amps.value
            pushed[load.minus] = pushed.get(load.minus, 0.0) + load.amps.value
    graph = nx.MultiGraph()
    for at, (_, one, two, _, _) in enumerate(branches):
        graph.add_edge(one, two, key=at)
    tree = nx.MultiGraph()
    tree.add_edges_from(nx.minimum_spanning_edges(graph, keys=True, data=False))
    rows, right = [], []
    for node in list(graph)[1:]:
        row = np.zeros(len(branches))
        for at, (_, one, two, _, _) in enumerate(branches):
            row[at] = (one == node) - (two == node)
        rows.append(row)
        right.append(pushed.get(node, 0.0))
    in_tree = {key for _, _, key in tree.edges(keys=True)}
    for at, (_, one, two, _, _) in enumerate(branches):
        if at in in_tree:
            continue
        row, volts = np.zeros(len(branches)), 0.0
        around = [at, *way(tree, two, one)]
        here = one
        for step in around:
            _, first, second, ohms, emf = branches[step]
            sign = 1 if first == here else -1
            row[step] += sign * ohms
            volts += sign * emf
            here = second if first == here else first
        rows.append(row)
        right.append(volts)
    amps = np.linalg.solve(np.array(rows), np.array(right))
    return found | {branch[0]: value for branch, value in zip(branches, amps, strict=True)}


def way(tree: nx.MultiGraph, start: str, end: str) -> list[int]:
    nodes = nx.shortest_path(tree, start, end)
    return [next(iter(tree[one][two])) for one, two in pairwise(nodes)]


def test_every_current_agrees_with_the_loops() -> None:
    for network in networks():
        ours = solve(network, hold_v=None).amps
        theirs = by_loops(network)
        assert ours.keys() == theirs.keys()
        largest = max(1.0, *map(abs, theirs.values()))
        for name, amps in theirs.items():
            assert ours[name] == pytest.approx(amps, abs=TOLERANCE * largest), name


# -- by ngspice ------------------------------------------------------------------------


def netlist(all_of: list[Network]) -> str:
    """One netlist; node `n` of network `k` is called `k_n`, its first battery's minus is 0."""
    lines = ["networks"]
    for number, network in enumerate(all_of):
        nodes = names_of(network)

        def at(node: str, number: int = number, nodes: dict[str, int] = nodes) -> str:
            return f"n{number}_{nodes[node]}" if nodes[node] else "0"

        count = iter(range(10_000))
        for source in network.sources:
            k = f"{number}_{next(count)}"
            lines.append(f"v{k} in{k} {at(source.minus)} {source.volts.value!r}")
            lines.append(f"r{k} in{k} {at(source.plus)} {source.ohms.value!r}")
        for wire in network.resistors:
            k = f"{number}_{next(count)}"
            lines.append(f"r{k} {at(wire.one)} {at(wire.two)} {wire.ohms.value!r}")
        for load in network.loads:
            k = f"{number}_{next(count)}"
            if load.ohms:
                lines.append(f"r{k} {at(load.plus)} {at(load.minus)} {load.ohms.value!r}")
            else:
                lines.append(f"i{k} {at(load.plus)} {at(load.minus)} {load.amps.value!r}")
    # A network's own conductances reach 1000 S; ngspice's small helpers must not show beside it.
    lines += [".options gmin=1e-18 reltol=1e-9 abstol=1e-15 vntol=1e-12"]
    lines += [".control", "set numdgt=15", "op", "print all", ".endc", ".end", ""]
    return "\n".join(lines)


def names_of(network: Network) -> dict[str, int]:
    """Numbers for the nodes of one network, 0 for the first battery's minus."""
    found = {network.sources[0].minus: 0}
    for part in network.parts:
        for node in (
            getattr(part, "plus", None) or part.one,
            getattr(part, "minus", None) or part.two,
        ):
            found.setdefault(node, len(found))
    return found


@cache
def operating_point() -> dict[str, float]:
    program = shutil.which("ngspice")
    if program is None:
        if os.environ.get("REQUIRE_SERVICES") == "1":
            pytest.fail("ngspice is not here.")
        pytest.skip("ngspice is not here.")
    ran = subprocess.run(
        [program, "-b"], input=netlist(networks()), capture_output=True, text=True, timeout=120,
        check=False,
    )  # fmt: skip
    printed = dict(re.findall(r"^(n\d+_\d+) = (\S+)$", ran.stdout, flags=re.MULTILINE))
    assert len(printed) == sum(len(names_of(network)) - 1 for network in networks()), ran.stderr
    return {name: float(value) for name, value in printed.items()}


def test_every_voltage_agrees_with_ngspice() -> None:
    theirs = operating_point()
    for number, network in enumerate(networks()):
        ours = solve(network, hold_v=None).volts
        largest = max(1.0, *map(abs, ours.values()))
        for node, at in names_of(network).items():
            volts = theirs[f"n{number}_{at}"] if at else 0.0
            assert ours[node] == pytest.approx(volts, abs=TOLERANCE * largest), (number, node)


# -- by hand ---------------------------------------------------------------------------


def test_a_divider_by_hand() -> None:
    found = solve(divider())
    assert found.amps == pytest.approx({"e": 2, "r": 2, "l": 2})
    assert found.across("b", "0v") == pytest.approx(4)
    assert found.across("a", "0v") == pytest.approx(8)


def test_an_outlet_circuit_by_hand() -> None:
    # 10 A through 10 mΩ battery, 5 mΩ fuse, 50 mΩ wire, 10 mΩ body: 0.75 V lost of 12.6 V.
    found = solve(outlet_circuit())
    assert found.across("outlet", "body") == pytest.approx(11.85)
    assert found.lost_watts == pytest.approx(7.5)
    assert found.losses[0].name == "wire"
    assert found.losses[0].share == pytest.approx(5 / 7.5)


def test_a_charge_line_by_hand() -> None:
    # Two sources on one post: (14.2 - v)/0.28 + (12.6 - v)/0.02 = 6, so v = 12.595 V.
    found = solve(two_batteries())
    assert found.across("plus", "minus") == pytest.approx(
        (14.2 / 0.28 + 12.6 / 0.02 - 6) / (1 / 0.28 + 1 / 0.02)
    )
    assert found.amps["battery"] == pytest.approx((12.6 - found.across("plus", "minus")) / 0.02)


def test_fifteen_feet_of_twelve_gauge() -> None:
    # 12.6 V, 15 ft of 12 gauge at 75 °C in all, 1.2 Ω: 12.30 V, solved before with numpy alone.
    copper = wire_ohms(awg_area_mm2(12), 15 * METRES_PER_FOOT, at_c=75)
    network = Network(
        (battery(12.6, 1e-9),),
        (
            resistor("wire", "plus", "lamp", copper / 2),
            resistor("back", "lamp-", "minus", copper / 2),
        ),
        (Load("lamp", "lamp", "lamp-", ohms=band(1.2)),),
    )
    assert solve(network).across("lamp", "lamp-") == pytest.approx(12.30, abs=0.005)
