"""Bounds of a network: they hold, and the measurement that is named narrows them most."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.factories.networks import outlet_circuit, random_network
from vehicles.domain.bands import Band, band
from vehicles.domain.circuit import Known, Network, solve
from vehicles.domain.doubt import bounds
from vehicles.domain.inputs import InputError

PORT = {"unit": ("outlet", "body")}


def doubtful(network: Network, by: float = 0.3, **special: Band) -> Network:
    """Every figure give or take a share `by`; `special` bands by part for the ohms or amps."""

    def wide(value: Band, name: str) -> Band:
        middle = value.value
        return special.get(name, Band(middle, middle * (1 - by), middle * (1 + by)))

    return Network(
        tuple(
            replace(s, volts=Band(s.volts.value, s.volts.value - 0.2, s.volts.value + 0.2),
                    ohms=wide(s.ohms, s.name))
            for s in network.sources
        ),
        tuple(replace(r, ohms=wide(r.ohms, r.name)) for r in network.resistors),
        tuple(
            replace(x, **{what: wide(getattr(x, what), x.name)})
            for x in network.loads
            for what in ["amps" if x.amps else "ohms"]
        ),
    )  # fmt: skip


def sampled(network: Network, chance: random.Random) -> Network:
    """The same network with each figure somewhere in its band."""

    def pick(value: Band | None) -> Band | None:
        return None if value is None else band(chance.uniform(value.low, value.high))

    return Network(
        tuple(replace(s, volts=pick(s.volts), ohms=pick(s.ohms)) for s in network.sources),
        tuple(replace(r, ohms=pick(r.ohms)) for r in network.resistors),
        tuple(replace(x, amps=pick(x.amps), ohms=pick(x.ohms)) for x in network.loads),
    )


def test_without_doubt_the_bounds_are_the_solution() -> None:
    network = outlet_circuit()
    found = bounds(network, PORT, ["F08"])
    assert found.volts["unit"].certain
    assert found.volts["unit"].value == pytest.approx(11.85)
    assert found.amps["F08"].value == pytest.approx(10)
    assert found.doubts["unit"] == ()
    assert found.best_measurement("unit") is None


def test_bounds_by_hand() -> None:
    # 12.4 to 12.8 V, 10 A give or take 3 A, 75 mΩ give or take 30 %.
    found = bounds(doubtful(outlet_circuit()), PORT, ["F08"])
    assert found.volts["unit"].low == pytest.approx(12.4 - 13 * 0.0975)
    assert found.volts["unit"].high == pytest.approx(12.8 - 7 * 0.0525)
    assert found.amps["F08"].low == pytest.approx(7)
    assert found.amps["F08"].high == pytest.approx(13)


def test_the_measurement_that_would_help_most() -> None:
    network = doubtful(outlet_circuit(), 0.01, body=Band(0.01, 0.002, 0.1))
    best = bounds(network, PORT).best_measurement("unit")
    assert best is not None
    assert best.part == "body"
    assert best.measure == "measure the volts lost in the body under load"
    assert best.volts == pytest.approx(10 * 0.098)


def test_what_was_measured_already_is_not_asked_for_again() -> None:
    network = doubtful(outlet_circuit(), 0.01, body=Band(0.01, 0.002, 0.1))
    known = replace(
        network,
        resistors=tuple(
            replace(r, known=Known.MEASURED) if r.name == "body" else r for r in network.resistors
        ),
    )
    best = bounds(known, PORT).best_measurement("unit")
    assert best is not None
    assert best.measure == "measure the volts of car battery without load"


def test_measuring_the_named_figure_narrows_more_than_measuring_any_other() -> None:
    network = doubtful(outlet_circuit(amps=None, ohms=1.2), 0.2, body=Band(0.02, 0.005, 0.06))
    best = bounds(network, PORT).best_measurement("unit")
    assert best is not None
    parts = {part.name: part for part in network.parts}
    widths = {}
    for doubt in bounds(network, PORT).doubts["unit"]:
        part = parts[doubt.part]
        settled = _with(network, part, doubt.what, band(getattr(part, doubt.what).value))
        widths[doubt.part, doubt.what] = bounds(settled, PORT).volts["unit"].width
    assert len(widths) == 6
    assert min(widths, key=widths.get) == (best.part, best.what)


def test_a_starving_worst_case_ends_at_nothing() -> None:
    network = doubtful(outlet_circuit(), 0.01, wire=Band(0.1, 0.05, 3.0))
    volts = bounds(network, PORT).volts["unit"]
    assert volts.low == 0
    assert volts.value == pytest.approx(11.35)


def test_a_dead_port_is_surely_dead() -> None:
    network = doubtful(outlet_circuit())
    cut = replace(network, resistors=network.resistors[1:])
    assert bounds(cut, PORT).volts["unit"] == Band(0, 0, 0)
    assert bounds(cut, {"x": ("nowhere", "body")}).volts["x"] == Band(0, 0, 0)
    assert bounds(Network(), PORT).volts["unit"] == Band(0, 0, 0)
    assert bounds(network, {}).volts == {}


def test_an_unknown_part_is_refused() -> None:
    with pytest.raises(InputError, match="no part of the network"):
        bounds(outlet_circuit(), PORT, ["F99"])


@given(st.integers(0, 10_000), st.floats(0.005, 0.2))
def test_whatever_the_figures_are_the_volts_stay_within_their_bounds(seed: int, by: float) -> None:
    # One battery and loads on the far side of it, as in a vehicle: directions do not change.
    chance = random.Random(seed)
    network = doubtful(outlet_circuit(wire=chance.uniform(0.01, 0.2)), by)
    extra = [replace(x, name=f"more{n}") for n in range(3) for x in network.loads]
    network = replace(network, loads=(*network.loads, *extra[: chance.randint(0, 3)]))
    found = bounds(network, PORT, ["F08", "battery"], hold_v=None)
    for _ in range(20):
        here = solve(sampled(network, chance), hold_v=None)
        volts = here.across("outlet", "body")
        assert found.volts["unit"].low - 1e-9 <= volts <= found.volts["unit"].high + 1e-9
        for part in ("F08", "battery"):
            assert found.amps[part].low - 1e-9 <= here.amps[part] <= found.amps[part].high + 1e-9


@given(st.integers(0, 10_000))
def test_one_figure_alone_moves_a_voltage_exactly_as_solving_anew_does(seed: int) -> None:
    network = random_network(seed)
    chance = random.Random(seed)
    part = chance.choice(network.parts)
    name = "amps" if getattr(part, "amps", None) else "ohms"
    middle = getattr(part, name).value
    ends = (middle * 0.5, middle * 1.5)
    moved = [_with(network, part, name, band(end)) for end in ends]
    node = chance.choice(network.resistors)
    port = {"p": (node.one, node.two)}
    found = bounds(_with(network, part, name, Band(middle, *ends)), port, hold_v=None)
    volts = [solve(it, hold_v=None).across(node.one, node.two) for it in moved]
    scale = 1e-7 * max(1.0, *map(abs, volts))
    expected = abs(volts[1] - volts[0])
    told = found.doubts["p"][0].volts if found.doubts["p"] else 0.0
    assert told == pytest.approx(expected, abs=max(scale, 1e-6))


def _with(network: Network, part, name: str, value: Band) -> Network:
    changed = replace(part, **{name: value})
    groups = (network.sources, network.resistors, network.loads)
    return Network(*(tuple(changed if p is part else p for p in group) for group in groups))
