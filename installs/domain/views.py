"""The judged states of one sheet, and what a fitted port or a load of the car finds in them."""

from __future__ import annotations

from collections.abc import Mapping

from installs.domain.ports import KindPort, PortFeed
from vehicles.domain.answers import Answer, Value, off, unknown
from vehicles.domain.feedmap import PROVEN, FeedMap, Load, element_of
from vehicles.domain.feeds import LivePaths
from vehicles.domain.state import State, with_pedal

PEDAL = "+pedal"


class Views:
    """One walk per state over a feed map; the walks with the pedal pressed start when asked."""

    def __init__(self, feed_map: FeedMap, states: Mapping[str, State]) -> None:
        self.map = feed_map
        self.states = states
        self.paths = {name: LivePaths(feed_map, state) for name, state in states.items()}

    def path(self, state: str) -> LivePaths:
        """The walk of ``drive``, ``tow``, ``breakaway`` or one of them with ``+pedal``."""
        found = self.paths.get(state)
        if found is None:
            pressed = with_pedal(self.states[state.removesuffix(PEDAL)])
            found = self.paths[state] = LivePaths(self.map, pressed)
        return found

    def port(self, state: str, connection: PortFeed) -> Answer:
        """A fitted port's answer: its feed and its ground, and whether its tap is still there."""
        paths = self.path(state)
        # Without a settled tow state its reason comes first; only an own battery would do without.
        if connection.known not in PROVEN and (
            connection.feed == "own" or not paths.state.unsettled
        ):
            return unknown("port", "where this is connected was assumed, not measured")
        if connection.in_slot:
            fuse = element_of(connection.feed).partition(":")[2]
            if fuse in paths.state.doubted and not paths.state.unsettled:
                return unknown(connection.feed, f"its tap sits in {fuse}'s slot: {fuse} may be out")
            if fuse in paths.state.fuses_out and not paths.state.unsettled:
                step = paths.state.fuse_step(fuse)
                return off(
                    connection.feed, f"its tap sits in {fuse}'s slot and goes out with it{step}"
                )
        return paths.port(connection.feed, connection.ground)

    def load(self, state: str, load: Load) -> Answer:
        """The answer for a load of the car itself."""
        paths = self.path(state)
        if load.known not in PROVEN and not paths.state.unsettled:
            return unknown(f"load:{load.id}", "its feed is assumed, nobody measured it")
        return paths.any_port(load.feed, load.ground)


def demands_of(port: KindPort) -> dict[str, str]:
    """What a port wants per state; states with the pedal pressed only where something is asked."""
    wanted = {state: port.wants(state) for state in ("drive", "tow", "breakaway")}
    for state in port.with_pedal:
        wanted[state + PEDAL] = port.wants(state, pedal=True)
    return wanted


def meets(demand: str, answer: Answer) -> bool:
    """Does the answer give what is demanded? Only a plain ON or OFF ever does."""
    if demand == "on":
        return answer.value is Value.ON
    if demand == "off":
        return answer.value is Value.OFF
    return demand == "any"
