"""Powered is what a graph library reaches: random circuits against networkx.

The oracle knows nothing of answers and chains: it is handed only edges. A consumer is powered
when one source reaches its feed over intact edges and its ground reaches that source's return.
"""

from __future__ import annotations

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from vehicles.domain.answers import Value
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.feeds import LivePaths
from vehicles.domain.state import State

LIVE_IN = {
    "30": ["off", "acc", "on", "start"],
    "15R": ["acc", "on"],
    "15": ["on", "start"],
    "50": ["start"],
}
GROUNDS = ("body", "battery_negative_post", "coach")


@st.composite
def circuits(draw):
    """A relay-free map without assumptions, timers or conditions, and a state."""
    terminals = [
        {"id": number, "live_in": keys, "feed": draw(st.sampled_from(["bus", "battery"]))}
        for number, keys in LIVE_IN.items()
    ]
    line = draw(
        st.none()
        | st.fixed_dictionaries(
            {
                "lands": st.sampled_from(["battery_side", "load_side"]),
                "ground": st.sampled_from(["body", "battery_post", "none"]),
            }
        )
    )
    points = ["battery", *(f"terminal:{number}" for number in LIVE_IN)]
    if line:
        points.append("coach")
    fuses, switches = [], []
    for number in range(draw(st.integers(1, 8))):
        feeds = draw(st.lists(st.sampled_from(points), min_size=1, max_size=2, unique=True))
        if draw(st.booleans()):
            fuses.append({"id": f"F{number}", "feed": feeds})
            points += [f"fuse:F{number}", f"fuse:F{number}@supply"]
        else:
            closed_when = draw(st.sampled_from(["always", "pedal"]))
            switches.append({"id": f"S{number}", "feed": feeds, "closed_when": closed_when})
            points.append(f"switch:S{number}")
    data = {
        "known": "measured",
        "terminals": terminals,
        "fuses": fuses,
        "switches": switches,
        "disconnect": {"leg": draw(st.sampled_from(["positive", "negative"]))},
    }
    if line:
        data["charge_line"] = line
    state = State(
        "tow",
        key=draw(st.sampled_from(["off", "acc", "on", "start"])),
        fuses_out=dict.fromkeys(
            draw(st.lists(st.sampled_from([f["id"] for f in fuses]), unique=True)) if fuses else (),
            1,
        ),
        disconnect_open=draw(st.booleans()),
        charge_connected=draw(st.booleans()),
        pedal=draw(st.booleans()),
    )
    return data, state


def oracle(data, state):
    """The graph of intact edges: sources, posts, bus, every point, and the grounds."""
    graph = nx.DiGraph()
    graph.add_nodes_from(["battery", "coach", "bus", *(f"-{ground}" for ground in GROUNDS)])
    graph.add_edges_from(_source_edges(data, state))
    graph.add_edges_from(_element_edges(data, state))
    return graph


def both_ways(one, two):
    return [(one, two), (two, one)]


def _source_edges(data, state):
    opened = data["disconnect"]["leg"] if state.disconnect_open else None
    if opened != "positive":
        yield from both_ways("battery", "bus")
    if opened != "negative":
        yield from both_ways("-body", "-battery_negative_post")
    line = data.get("charge_line")
    if line and state.charge_connected:
        yield "coach", "battery" if line["lands"] == "battery_side" else "bus"
        landed = {"body": "-body", "battery_post": "-battery_negative_post"}.get(line["ground"])
        if landed:
            yield from both_ways(landed, "-coach")


def _element_edges(data, state):
    for terminal in data["terminals"]:
        if state.key in terminal["live_in"]:
            yield terminal["feed"], f"terminal:{terminal['id']}"
    for fuse in data["fuses"]:
        point = f"fuse:{fuse['id']}"
        yield from ((feed, f"{point}@supply") for feed in fuse["feed"])
        if fuse["id"] not in state.fuses_out:
            yield f"{point}@supply", point
    for switch in data["switches"]:
        if switch["closed_when"] == "always" or state.pedal:
            yield from ((feed, f"switch:{switch['id']}") for feed in switch["feed"])


def powered_by_oracle(data, state, points):
    graph = oracle(data, state)
    sources = [("battery", "-battery_negative_post")]
    if data.get("charge_line") and state.charge_connected:
        sources.append(("coach", "-coach"))
    found = set()
    for plus, minus in sources:
        fed = nx.descendants(graph, plus) | {plus}
        returned = nx.ancestors(graph, minus) | {minus}
        found |= {(p, g) for p in points for g in GROUNDS if p in fed and f"-{g}" in returned}
    return found


def powered(walk, points):
    return {(p, g) for p in points for g in GROUNDS if walk.port(p, g).value is Value.ON}


def feeding_points(feed_map):
    return [point for point in feed_map.points if point not in ("own", "unknown")]


@settings(max_examples=250, deadline=None)
@given(circuits())
def test_the_same_points_are_powered(circuit):
    data, state = circuit
    feed_map = FeedMap.from_dict(data)
    points = feeding_points(feed_map)
    walk = LivePaths(feed_map, state)
    expected = powered_by_oracle(data, state, points)
    if feed_map.charge_line is None:
        # There is no coach to return to: the walk calls that unknown, the graph unreached.
        expected = {(p, g) for p, g in expected if g != "coach"}
    assert powered(walk, points) == expected


@settings(max_examples=150, deadline=None)
@given(circuits(), st.data())
def test_pulling_one_more_fuse_never_brings_anything_alive(circuit, data):
    mapped, state = circuit
    if not mapped["fuses"]:
        return
    feed_map = FeedMap.from_dict(mapped)
    points = feeding_points(feed_map)
    one_more = data.draw(st.sampled_from([fuse["id"] for fuse in mapped["fuses"]]))
    fewer = State(
        "tow",
        key=state.key,
        fuses_out={**state.fuses_out, one_more: 2},
        disconnect_open=state.disconnect_open,
        charge_connected=state.charge_connected,
        pedal=state.pedal,
    )
    before = powered(LivePaths(feed_map, state), points)
    assert powered(LivePaths(feed_map, fewer), points) <= before


@settings(max_examples=150, deadline=None)
@given(circuits())
def test_the_search_for_cures_sees_what_the_walk_sees(circuit):
    """`plainly` joins no chains; it has to agree with the answers all the same."""
    data, state = circuit
    feed_map = FeedMap.from_dict(data)
    points = feeding_points(feed_map)
    walk = LivePaths(feed_map, state)
    for ground in GROUNDS:
        for value in (Value.ON, Value.OFF):
            expected = {p for p in points if walk.port(p, ground).value is value}
            assert walk.plainly(value, ground) == expected
