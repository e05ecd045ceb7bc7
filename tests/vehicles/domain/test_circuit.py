"""The network: dead parts, shorts, starved loads, where power goes, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.factories.networks import battery, outlet_circuit, random_network
from vehicles.domain.bands import Band, band
from vehicles.domain.circuit import Load, Network, Source, resistor, solve
from vehicles.domain.inputs import InputError

seeds = st.integers(0, 10_000)


def without(network: Network, name: str) -> Network:
    return replace(network, resistors=tuple(r for r in network.resistors if r.name != name))


def test_a_pulled_fuse_leaves_its_load_at_nothing() -> None:
    found = solve(without(outlet_circuit(), "F08"))
    assert found.across("outlet", "body") == 0
    assert found.amps["unit"] == 0
    assert found.amps["battery"] == 0
    assert found.dead == ("unit",)
    assert found.starved == ()
    assert found.losses == ()


def test_without_a_way_back_nothing_flows() -> None:
    found = solve(without(outlet_circuit(), "body"))
    assert found.dead == ("unit",)
    assert found.across("outlet", "body") == 0  # a meter between two loose ends reads nothing
    assert found.volts["outlet"] == pytest.approx(12.6)


def test_an_empty_network_and_one_without_a_battery_are_dead_not_wrong() -> None:
    assert solve(Network()).volts == {}
    network = replace(outlet_circuit(), sources=())
    found = solve(network)
    assert set(found.volts.values()) == {0.0}
    assert found.dead == ("unit",)
    assert found.across("nowhere", "body") == 0


def test_a_dead_branch_is_not_fed_through_another_load() -> None:
    """With F08 out, a lamp to ground behind it is no feed for the unit beside it."""
    network = without(outlet_circuit(), "F08")
    lamp = Load("lamp", "outlet", "body", ohms=band(6), label="lamp")
    found = solve(replace(network, loads=(*network.loads, lamp)))
    assert found.dead == ("unit", "lamp")
    assert found.across("outlet", "body") == pytest.approx(0, abs=1e-12)
    assert found.amps["unit"] == 0


def test_two_batteries_that_share_nothing_each_have_their_own_zero() -> None:
    network = outlet_circuit()
    own = Source("own", "own+", "own-", band(12.8), band(0.05))
    magnet = Load("magnet", "own+", "own-", amps=band(4))
    found = solve(replace(network, sources=(*network.sources, own), loads=(*network.loads, magnet)))
    assert found.across("own+", "own-") == pytest.approx(12.6)
    assert found.across("outlet", "body") == pytest.approx(11.85)
    assert found.across("own+", "body") == 0


def test_a_short_is_a_sentence_that_names_the_hottest_part() -> None:
    network = outlet_circuit()
    short = resistor("chafed", "behind", "minus", 0.0005, label="a chafed wire")
    found = solve(replace(network, resistors=(*network.resistors, short)))
    assert len(found.notes) == 2
    assert found.notes[0].startswith("car battery: 8")
    assert "its posts are shorted; most of it in F08" in found.notes[0]
    assert "cannot carry 10 A" in found.notes[1]
    assert solve(network).notes == ()
    assert solve(network, short_a=5).notes[0].startswith("car battery: 10 A, more than 5 A")


def test_a_wire_that_cannot_carry_the_load_gives_no_negative_volts() -> None:
    found = solve(outlet_circuit(wire=2.0))  # 10 A would lose 20 V of 12.6
    assert found.starved == ("unit",)
    volts = found.across("outlet", "body")
    assert 0 < volts < 6
    assert found.amps["unit"] == pytest.approx(10 * volts / 6)
    assert found.notes == (
        f"brake unit: the way to it cannot carry 10 A; it gets {10 * volts / 6:.1f} A "
        f"at {volts:.1f} V.",
    )


def test_several_loads_at_once_pull_each_other_down() -> None:
    alone = outlet_circuit()
    more = replace(
        alone,
        loads=(
            *alone.loads,
            Load("fridge", "outlet", "body", ohms=band(2)),
            Load("radio", "behind", "body", amps=band(1.5)),
        ),
    )
    found = solve(more)
    assert found.across("outlet", "body") < solve(alone).across("outlet", "body")
    drawn = sum(found.amps[name] for name in ("unit", "fridge", "radio"))
    assert found.amps["F08"] == pytest.approx(drawn)
    assert found.amps["battery"] == pytest.approx(drawn)


def test_extreme_resistances_are_solved_or_refused_never_wrong() -> None:
    found = solve(outlet_circuit(wire=1e12, amps=None, ohms=1.0))
    assert found.across("outlet", "body") == pytest.approx(12.6e-12, rel=1e-3)


@given(seeds)
def test_what_the_batteries_give_arrives_or_is_lost(seed: int) -> None:
    network = random_network(seed)
    found = solve(network, hold_v=None)
    given_w = sum(source.volts.value * found.amps[source.name] for source in network.sources)
    scale = max(1.0, found.lost_watts)
    assert given_w == pytest.approx(found.load_watts + found.lost_watts, abs=1e-6 * scale)


@given(seeds, st.floats(0.1, 10))
def test_volts_and_currents_scale_together(seed: int, by: float) -> None:
    """Twice the volts everywhere and twice the constant currents: twice of everything."""
    network = random_network(seed)
    scaled = Network(
        tuple(replace(s, volts=s.volts * by) for s in network.sources),
        network.resistors,
        tuple(replace(x, amps=x.amps * by) if x.amps else x for x in network.loads),
    )
    one, two = solve(network, hold_v=None).amps, solve(scaled, hold_v=None).amps
    largest = max(map(abs, one.values()))
    for name, amps in one.items():
        assert two[name] == pytest.approx(by * amps, abs=1e-6 * by * max(1.0, largest))


@given(seeds, st.floats(0, 40))
@example(728, 34.0)
def test_a_starved_load_never_takes_more_than_it_asks_for(seed: int, amps: float) -> None:
    network = random_network(seed)
    asks = [replace(x, amps=band(amps), ohms=None) for x in network.loads]
    found = solve(replace(network, loads=tuple(asks)))
    for load in asks:
        assert found.amps[load.name] <= amps + 1e-9


@pytest.mark.parametrize(
    ("build", "sentence"),
    [
        (
            lambda: resistor("w", "a", "b", 0),
            "Resistance of w: 0 was given; it must be more than 0.",
        ),
        (lambda: resistor("w", "a", "b", -1, label="the wire"), "Resistance of the wire: -1 was"),
        (lambda: resistor("w", "a", "b", Band(1, 0, 2)), "Resistance of w: 0 was given"),
        (lambda: resistor("w", "a", "a", 1), "both of its ends are at a."),
        (lambda: battery(ohms=0), "Inner resistance of car battery: 0 was given"),
        (lambda: Load("l", "a", "b"), "a current or a resistance, one of the two"),
        (lambda: Load("l", "a", "b", band(1), band(1)), "one of the two"),
        (lambda: Load("l", "a", "b", band(-1)), "Current of l: a load cannot draw less"),
        (lambda: Load("l", "a", "b", ohms=band(0)), "Resistance of l: 0 was given"),
        (
            lambda: Network(resistors=(resistor("w", "a", "b", 1), resistor("w", "b", "c", 1))),
            "W: two parts of the network have this name.",
        ),
        (lambda: solve(Network(), short_a=0), "Short-circuit limit: 0 was given"),
        (lambda: solve(Network(), hold_v=-1), "Hold voltage: -1 was given"),
    ],
)
def test_bad_parts_are_refused_with_a_sentence(build, sentence) -> None:
    with pytest.raises(InputError) as caught:
        build()
    assert sentence in str(caught.value)
