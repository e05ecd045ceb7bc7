"""Cures in words: what to do, and what else would then die, stay awake or share the fuse."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from installs.domain.findings import Cure
from installs.domain.ports import KindPort, PortFeed
from installs.domain.ratings import Ratings
from installs.domain.views import Views
from vehicles.domain.answers import Value
from vehicles.domain.feedmap import Load, Outlet, element_of

GROUND_TITLES = {
    "body": "its ground to the body",
    "battery_negative_post": "its ground to the battery's negative post",
    "coach": "its ground through the coach's charge line",
}
FIXED = {
    "battery": ("battery_direct", "Give it its own fused feed from the battery's positive post"),
    "coach": ("charge_line", "Feed it from the coach's charge line"),
    "own": ("own_battery", "Give it a battery of its own"),
}
MAKER_FIRST = "Only with a source: what is pulled for towing is the vehicle maker's word."


class CureWords:
    """Words for the cures of one sheet. ``names``: what each fitted port is called, by user."""

    def __init__(self, views: Views, ratings: Ratings, names: Mapping[str, str]) -> None:
        self.views = views
        self.ratings = ratings
        self.names = names
        self._sharers: dict[str, tuple[str, ...]] = {}

    def sort_of(self, connection: PortFeed, trial: PortFeed) -> str:
        """Which sort of cure the trial is: the code of its ``Cure``."""
        feed = trial.feed
        if feed == connection.feed:
            return "ground" if trial.ground != connection.ground else "tap_side"
        if feed in FIXED:
            return FIXED[feed][0]
        if feed.startswith("outlet:"):
            return "outlet"
        same = element_of(feed) == element_of(connection.feed)
        return "tap_side" if same else "other_feed"

    def connection(
        self, sort: str, port: KindPort, connection: PortFeed, trial: PortFeed, left: float
    ) -> Cure:
        """The cure that connects the port as in ``trial``, with ``left`` amps behind it."""
        title = self._title(sort, connection, trial)
        if sort != "ground" and trial.ground not in (connection.ground, "own"):
            title += f", and take {GROUND_TITLES.get(trial.ground, trial.ground)}"
        notes = tuple(self._notes(sort, port, connection, trial, left))
        return Cure(sort, title, notes, trial.feed, trial.ground)

    def _title(self, sort: str, connection: PortFeed, trial: PortFeed) -> str:
        if sort == "ground":
            return f"Take {GROUND_TITLES.get(trial.ground, trial.ground)}"
        if trial.feed in FIXED:
            return FIXED[trial.feed][1]
        element = self.views.map.elements[element_of(trial.feed)]
        if isinstance(element, Outlet):
            return f"Plug it into {element.name or f'outlet {element.id}'}"
        if trial.feed == connection.feed:
            return f"Move its tap out of {element.id}'s slot, onto the wire behind it"
        side = "supply" if trial.feed.endswith("@supply") else "load"
        if sort == "tap_side":
            return f"Move its tap to {element.id}'s {side} side"
        rating = f" ({element.rating_a:g} A)" if element.rating_a else ""
        return f"Feed it from {element.id}'s {side} side{rating}"

    def _notes(
        self, sort: str, port: KindPort, connection: PortFeed, trial: PortFeed, left: float
    ) -> Iterator[str]:
        feed = trial.feed
        if feed == "own":
            yield "It must be kept charged and load-tested, and be big enough for the part."
            return
        if sort != "ground":
            yield from self._feed_notes(port, connection, feed, left)
        if trial.ground == "battery_negative_post" and trial.ground != connection.ground:
            yield "This part then stays on the battery while the disconnect is open."
        if port.standby_a and feed != "coach" and self._live_in_tow(trial):
            yield f"It draws {port.standby_a:g} A at rest for as long as the vehicle is towed."
        if feed == "coach":
            yield "It dies when the coach's plug is out, and in a breakaway."
        yield "Nothing else dies or stays awake."

    def _feed_notes(
        self, port: KindPort, connection: PortFeed, feed: str, left: float
    ) -> Iterator[str]:
        if feed == "battery" or feed.endswith("@supply"):
            amps = port.min_supply_a or port.peak_a
            size = f"{amps:g} A" if amps else "sized to the part and the wire"
            yield f"Its wire needs a fuse of its own ({size}), close to the tap."
        elif port.peak_a and left < math.inf:
            unknown = self._draws_nobody_recorded(feed)
            but = (
                f", not counting {', '.join(unknown)}: nobody recorded the draw" if unknown else ""
            )
            yield f"{port.peak_a:g} A more there at its peak, {left:g} A left{but}."
        if feed.startswith("fuse:") and connection.feed.startswith("outlet:"):
            yield "It needs an outlet of its own there."
        sharers = self.sharers(feed)
        if sharers:
            yield f"If that fuse blows, this dies too: {', '.join(sharers)}."

    def _live_in_tow(self, trial: PortFeed) -> bool:
        return self.views.port("tow", trial).value is Value.ON

    def sharers(self, feed: str) -> tuple[str, ...]:
        """What of the car hangs directly on this fuse's load side, by name."""
        if not feed.startswith("fuse:") or feed.endswith("@supply"):
            return ()
        found = self._sharers.get(feed)
        if found is None:
            fuse = self.views.map.elements[feed]
            loads = [x.name or x.id for x in self.views.map.loads if feed in x.feed]
            found = self._sharers[feed] = tuple(dict.fromkeys([*loads, *fuse.behind]))
        return found

    def _draws_nobody_recorded(self, feed: str) -> tuple[str, ...]:
        """What hangs on this fuse's load side with a draw that no sum can count, by name."""
        counted = {
            load.name or load.id
            for load in self.views.map.loads
            if feed in load.feed and load.peak_a is not None
        }
        return tuple(name for name in self.sharers(feed) if name not in counted)

    def bypass(self, fuse: str, awake: list[str]) -> Cure:
        """A switch across a pulled fuse, with what it wakes."""
        listed = ", ".join(awake) or "whatever else hangs on it, which nobody recorded"
        return Cure(
            "bypass_switch",
            f"Fit a switch across {fuse}, closed for towing",
            (f"Then also awake in tow: {listed}.", MAKER_FIRST),
        )

    def killed(self, fuse: str, views: Views, but: Load) -> list[str]:
        """What else of car and fittings would go dead in tow with ``views``, by name."""
        dead = [
            load.name or load.id
            for load in views.map.loads
            if load is not but
            and self.views.load("tow", load).value is not Value.OFF
            and views.load("tow", load).value is Value.OFF
        ]
        fed = self.ratings.connections.items()
        dead += [
            self.names.get(user, user)
            for user, connection in fed
            if self.views.port("tow", connection).value is not Value.OFF
            and views.port("tow", connection).value is Value.OFF
        ]
        return list(dict.fromkeys([*dead, *views.map.elements[f"fuse:{fuse}"].behind]))

    def pull(self, fuse: str, killed: list[str]) -> Cure:
        """Pulling one more fuse for towing, with what it takes along."""
        listed = f"Then also dead in tow: {', '.join(killed)}." if killed else ""
        notes = (listed or "Nothing else on the sheet dies with it.", MAKER_FIRST)
        return Cure("pull_fuse", f"Pull {fuse} for towing", notes)
