"""The feed map: what feeds what in a towed vehicle, as plain data.

``FeedMap.from_dict`` / ``FeedMap.to_dict`` carry the JSON form that the vehicle sheet and the
database store (its schema is ``feed_map`` in ``vehicle.schema.json`` beside this file), and
``validate_feed_map(data)`` names every fault of such a document. Points are short texts:

====================  ==================================================================
``battery``           positive post, ahead of a disconnect in the positive leg
``terminal:15R``      a DIN 72552 terminal of the map
``fuse:F08``          load side of a fuse; ``fuse:F08@supply`` is its supply side
``relay:R1``          contact closed when the coil is energised (87); ``relay:R1@rest`` (87a)
``switch:S1``         after a switch
``outlet:dash``       an outlet or socket
``coach``             the coach's charge line, ahead of where it lands in the car
``own``               a battery of the part itself
``unknown``           nobody knows
====================  ==================================================================

A feed may be one point or a list of points of which any one is enough. Grounds are ``body``,
``battery_negative_post`` (ahead of a disconnect in the negative leg), ``coach``, ``own``,
``unknown``, or ``switch:S1`` for a circuit that is switched on its ground side.

``known`` says how an entry is known: ``measured`` or ``document``. Anything else is
``assumed``, which makes what hangs on it UNKNOWN. A map-level ``known`` is the default for
entries that do not say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any, ClassVar, Self

from vehicles.domain.loops import looped_relays
from vehicles.domain.plain import Plain
from vehicles.domain.terminals import ALWAYS, TERMINALS

GROUNDS = ("body", "battery_negative_post", "coach", "own", "unknown")
PLAIN_POINTS = ("battery", "coach", "own", "unknown")
# Where the battery feed arrives behind a disconnect; not written by hand: it is terminal 30.
BUS = "bus"
# Ways of knowing that prove something; every other way leaves it UNKNOWN.
PROVEN = ("measured", "document")


@dataclass(frozen=True)
class Terminal(Plain):
    """A terminal and the key positions it lives in (default: what its number stands for).

    ``timer_minutes``: stays alive so long after key-off. ``closed_when`` as for a switch, for
    terminals that the key alone does not decide (54, 58): without it they are UNKNOWN.
    ``feed`` is ``battery`` where it is taken ahead of the disconnect, else ``bus``.
    """

    id: str
    live_in: tuple[str, ...] = ()
    timer_minutes: float | None = None
    conditions: tuple[str, ...] = ()
    closed_when: str = ""
    feed: str = ""
    known: str = "assumed"

    @property
    def positions(self) -> frozenset[str]:
        """Key positions in which it is alive, given or by its number; empty if neither says."""
        if self.live_in:
            return frozenset(self.live_in)
        standard = TERMINALS.get(self.id)
        if standard is None:
            return frozenset()
        return frozenset(ALWAYS) if standard.role == "load" else frozenset(standard.live_in)

    @property
    def gate(self) -> str:
        """``closed_when``, with ``unknown`` for a numbered terminal that a switch decides."""
        standard = TERMINALS.get(self.id)
        if not self.closed_when and standard is not None and standard.role == "load":
            return "unknown"
        return self.closed_when or "always"

    @property
    def source(self) -> str:
        """``bus`` or ``battery``; ``unknown`` for a second battery that nobody placed."""
        return self.feed or ("unknown" if self.id == "30a" else BUS)


@dataclass(frozen=True)
class Fuse(Plain):
    """A fuse position. ``row``/``col`` place it in its box, ``behind`` lists what it feeds.

    ``backfeed`` names points that also reach its load side (a bypass switch across it, a
    second feed): pulling the fuse does not kill those. ``wire_ampacity_a`` and ``socket_a``
    are what the wire and the position behind it may carry, where somebody recorded that.
    """

    ONE_OR_MORE: ClassVar[frozenset[str]] = frozenset({"feed", "backfeed"})
    ALWAYS: ClassVar[frozenset[str]] = frozenset({"feed"})

    id: str
    feed: tuple[str, ...] = ("unknown",)
    rating_a: float | None = None
    blade: str = ""
    box: str = ""
    row: int | None = None
    col: int | None = None
    behind: tuple[str, ...] = ()
    backfeed: tuple[str, ...] = ()
    wire_ampacity_a: float | None = None
    socket_a: float | None = None
    known: str = "assumed"


@dataclass(frozen=True)
class Relay(Plain):
    """A relay: its coil circuit and the feed of its contact.

    ``contact``: ``normally_open`` (the output is alive while the coil is energised),
    ``normally_closed`` (while it is at rest) or ``changeover`` (both outputs exist).
    """

    ONE_OR_MORE: ClassVar[frozenset[str]] = frozenset({"coil", "feed"})
    ALWAYS: ClassVar[frozenset[str]] = frozenset({"coil", "feed"})

    id: str
    coil: tuple[str, ...] = ("unknown",)
    coil_ground: str = "body"
    feed: tuple[str, ...] = ("unknown",)
    contact: str = "normally_open"
    known: str = "assumed"


@dataclass(frozen=True)
class Switch(Plain):
    """A switch between ``feed`` and its point. A ground-side switch has a ground as its feed.

    ``closed_when``: ``always``, ``pedal``, ``lamp_switch``, ``reverse``, ``pin`` (closes when the
    breakaway pin is pulled) or ``unknown``;
    ``conditions`` are further texts of which every one must hold.
    """

    ONE_OR_MORE: ClassVar[frozenset[str]] = frozenset({"feed"})
    ALWAYS: ClassVar[frozenset[str]] = frozenset({"feed", "closed_when"})

    id: str
    feed: tuple[str, ...] = ("unknown",)
    closed_when: str = "unknown"
    conditions: tuple[str, ...] = ()
    name: str = ""
    known: str = "assumed"


@dataclass(frozen=True)
class Outlet(Plain):
    """An outlet. ``timer_minutes``: dies so long after the key left *on*.

    ``user_can_change``: the driver can change how it behaves in a menu or by a switch.
    """

    ONE_OR_MORE: ClassVar[frozenset[str]] = frozenset({"feed"})
    ALWAYS: ClassVar[frozenset[str]] = frozenset({"feed"})

    id: str
    feed: tuple[str, ...] = ("unknown",)
    name: str = ""
    rating_a: float | None = None
    timer_minutes: float | None = None
    conditions: tuple[str, ...] = ()
    user_can_change: bool = False
    known: str = "assumed"


NOT_RECORDED = "not_recorded"


@dataclass(frozen=True)
class Load(Plain):
    """A consumer of the car itself: a lamp, steering assist, the gearbox controller.

    ``needs`` says per state ``on``, ``off``, ``any`` or ``not_recorded``; a state that is not
    named is ``any``, except that a tow state nobody wrote about is ``not_recorded``.
    """

    ONE_OR_MORE: ClassVar[frozenset[str]] = frozenset({"feed"})
    ALWAYS: ClassVar[frozenset[str]] = frozenset({"feed"})

    id: str
    feed: tuple[str, ...] = ("unknown",)
    name: str = ""
    ground: str = "body"
    needs: Mapping[str, str] | None = None
    peak_a: float | None = None
    consequence: str = ""
    severity: str = "WARNING"
    known: str = "assumed"

    def need(self, state: str) -> str:
        """``on``, ``off``, ``any`` or ``not_recorded`` for ``drive``, ``tow``, ``breakaway``."""
        return (self.needs or {}).get(state, NOT_RECORDED if state == "tow" else "any")


@dataclass(frozen=True)
class Disconnect(Plain):
    """A battery disconnect; ``leg``: ``positive``, ``negative`` or ``none`` (there is none)."""

    ALWAYS: ClassVar[frozenset[str]] = frozenset({"leg"})

    leg: str = "none"


@dataclass(frozen=True)
class ChargeLine(Plain):
    """The coach's charge line: on which side of the disconnect it lands, and its ground.

    ``ground``: ``body``, ``battery_post``, ``none`` or ``unknown``; ``conditions`` are what the
    coach must do for the line to be alive (ignition on, solenoid closed).
    """

    ALWAYS: ClassVar[frozenset[str]] = frozenset({"lands", "ground"})

    lands: str = "load_side"
    ground: str = "unknown"
    rating_a: float | None = None
    conditions: tuple[str, ...] = ()
    known: str = "assumed"


_LISTS: dict[str, type[Plain]] = {
    "terminals": Terminal,
    "fuses": Fuse,
    "relays": Relay,
    "switches": Switch,
    "outlets": Outlet,
    "loads": Load,
}


@dataclass(frozen=True)
class FeedMap:
    """All that is recorded about the feeds of one vehicle or model range."""

    terminals: tuple[Terminal, ...] = ()
    fuses: tuple[Fuse, ...] = ()
    relays: tuple[Relay, ...] = ()
    switches: tuple[Switch, ...] = ()
    outlets: tuple[Outlet, ...] = ()
    loads: tuple[Load, ...] = ()
    disconnect: Disconnect | None = None
    charge_line: ChargeLine | None = None
    electric_parking_brake: bool | None = None
    automatic_lamps: bool | None = None

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from a document that ``validate_feed_map`` found no fault in."""
        default = data.get("known")
        values: dict[str, Any] = {
            key: data[key] for key in ("electric_parking_brake", "automatic_lamps") if key in data
        }
        for key, element in _LISTS.items():
            values[key] = tuple(
                element.from_dict(_with_known(item, default)) for item in data.get(key, ())
            )
        if data.get("disconnect"):
            values["disconnect"] = Disconnect.from_dict(data["disconnect"])
        if data.get("charge_line"):
            values["charge_line"] = ChargeLine.from_dict(_with_known(data["charge_line"], default))
        return cls(**values)

    def to_dict(self) -> dict[str, Any]:
        """The JSON form; ``from_dict`` of it equals this map."""
        written: dict[str, Any] = {}
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, tuple):
                if value:
                    written[field.name] = [item.to_dict() for item in value]
            elif isinstance(value, Plain):
                written[field.name] = value.to_dict()
            elif value is not None:
                written[field.name] = value
        return written

    @cached_property
    def elements(self) -> dict[str, Any]:
        """Every element by its point: ``fuse:F08`` -> the fuse."""
        return dict(self._items())

    def _items(self) -> Iterator[tuple[str, Any]]:
        for kind, items in (
            ("terminal", self.terminals),
            ("fuse", self.fuses),
            ("relay", self.relays),
            ("switch", self.switches),
            ("outlet", self.outlets),
            ("load", self.loads),
        ):
            for item in items:
                yield f"{kind}:{item.id}", item

    @cached_property
    def points(self) -> tuple[str, ...]:
        """Every point that can be used as a feed, in the order of the map."""
        found: list[str] = ["battery"]
        for point, element in self.elements.items():
            if isinstance(element, Load):
                continue
            if isinstance(element, Fuse):
                found.append(f"{point}@supply")
            found.append(point)
            if isinstance(element, Relay) and element.contact == "changeover":
                found.append(f"{point}@rest")
        if self.charge_line is not None:
            found.append("coach")
        return (*found, "own", "unknown")

    @cached_property
    def sorted_points(self) -> tuple[tuple[str, str], ...]:
        """Every point with its sort: ``("fuse:F08@supply", "fuse")``."""
        return tuple((point, point.partition(":")[0]) for point in self.points)

    @cached_property
    def looped_relays(self) -> frozenset[str]:
        """Relays whose coil hangs on itself; computed once, because every state asks."""
        return looped_relays(self)

    @cached_property
    def memo(self) -> dict[str, Any]:
        """Room for what others work out from this map alone, by point; it lives with the map."""
        return {}

    @cached_property
    def fuse_names(self) -> str:
        """All fuses for a sentence: ``F05, F06, F08``."""
        return ", ".join(fuse.id for fuse in self.fuses) or "none"


def _with_known(item: Mapping[str, Any], default: str | None) -> Mapping[str, Any]:
    if default is None or "known" in item:
        return item
    return {**item, "known": default}


def element_of(point: str) -> str:
    """The element a point belongs to: ``fuse:F08@supply`` -> ``fuse:F08``."""
    return point.partition("@")[0]


def feeds_of(element: Any) -> tuple[str, ...]:
    """The points that feed an element's output (for a relay its contact, not its coil)."""
    if isinstance(element, Terminal):
        return (element.source,)
    return tuple(element.feed)


def point_words(point: str) -> str:
    """A point in a sentence: ``fuse:F21`` is read as ``F21's load side``."""
    fixed = {
        "battery": "the battery's positive post",
        "coach": "the coach's charge line",
        "own": "a battery of its own",
        "unknown": "nobody knows where",
        BUS: "terminal 30",
    }
    if point in fixed:
        return fixed[point]
    kind, _, name = element_of(point).partition(":")
    if kind == "fuse":
        return f"{name}'s {'supply' if point.endswith('@supply') else 'load'} side"
    return f"{kind} {name}" + (" at rest (87a)" if point.endswith("@rest") else "")
