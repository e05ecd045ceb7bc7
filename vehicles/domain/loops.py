"""Feeds that run in a circle: relays that hold themselves, and plain wires that cannot.

A coil fed through its own contact is a latch and is judged as one. A fuse that feeds itself
through other fuses has no source at all: that is a mistake on the sheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vehicles.domain.feedmap import FeedMap

COIL = "coil:"


def dependencies(feed_map: FeedMap) -> dict[str, tuple[str, ...]]:
    """For each point the points it hangs on; a relay's contact also hangs on ``coil:ID``."""
    edges: dict[str, tuple[str, ...]] = {}
    for fuse in feed_map.fuses:
        edges[f"fuse:{fuse.id}@supply"] = fuse.feed
        edges[f"fuse:{fuse.id}"] = (f"fuse:{fuse.id}@supply", *fuse.backfeed)
    for relay in feed_map.relays:
        edges[COIL + relay.id] = (*relay.coil, relay.coil_ground)
        for point in (f"relay:{relay.id}", f"relay:{relay.id}@rest"):
            edges[point] = (*relay.feed, COIL + relay.id)
    for switch in feed_map.switches:
        edges[f"switch:{switch.id}"] = switch.feed
    for outlet in feed_map.outlets:
        edges[f"outlet:{outlet.id}"] = outlet.feed
    return edges


def circles(edges: Mapping[str, tuple[str, ...]]) -> list[list[str]]:
    """Groups of nodes that all reach each other (strongly connected, by Tarjan's walk)."""
    walk = _Walk(edges)
    for node in edges:
        if node not in walk.index:
            walk.visit(node)
    return walk.found


class _Walk:
    def __init__(self, edges: Mapping[str, tuple[str, ...]]) -> None:
        self.edges = edges
        self.index: dict[str, int] = {}
        self.low: dict[str, int] = {}
        self.stack: list[str] = []
        self.found: list[list[str]] = []

    def visit(self, node: str) -> None:
        self.index[node] = self.low[node] = len(self.index)
        self.stack.append(node)
        for other in self.edges.get(node, ()):
            if other not in self.index:
                self.visit(other)
                self.low[node] = min(self.low[node], self.low[other])
            elif other in self.stack:
                self.low[node] = min(self.low[node], self.index[other])
        if self.low[node] == self.index[node]:
            self._close(node)

    def _close(self, node: str) -> None:
        at = self.stack.index(node)
        group = self.stack[at:]
        del self.stack[at:]
        if len(group) > 1 or node in self.edges.get(node, ()):
            self.found.append(group)


def looped_relays(feed_map: FeedMap) -> frozenset[str]:
    """Ids of the relays whose coil hangs, over any detour, on itself."""
    return frozenset(
        node.removeprefix(COIL)
        for group in circles(dependencies(feed_map))
        for node in group
        if node.startswith(COIL)
    )


def plain_circles(feed_map: FeedMap) -> list[list[str]]:
    """Circles that no relay coil interrupts: nothing in them has a source."""
    edges = dependencies(feed_map)
    without_coils = {
        node: _no_coils(others) for node, others in edges.items() if not node.startswith(COIL)
    }
    return circles(without_coils)


def _no_coils(points: Iterable[str]) -> tuple[str, ...]:
    return tuple(point for point in points if not point.startswith(COIL))
