"""The points and grounds of a feed map, in the words of the trade, to choose from."""

from collections.abc import Iterable
from typing import Any

from vehicles.domain.feedmap import FeedMap, Fuse, Load, Outlet, Relay, Switch, Terminal, element_of
from vehicles.domain.terminals import TERMINALS

Choices = list[tuple[str, Any]]
UNKNOWN = ("unknown", "unknown: nobody has looked yet")
GROUND_WORDS = {
    "body": "body of the car",
    "battery_negative_post": "battery, negative post",
    "coach": "through the coach's charge line",
    "own": "its own battery",
}
_GROUPS: tuple[tuple[str, type[Any]], ...] = (
    ("Fuses", Fuse),
    ("Outlets", Outlet),
    ("Relays", Relay),
    ("Switches", Switch),
    ("Terminals", Terminal),
)


def feed_choices(feed_map: FeedMap, *, also: str = "") -> Choices:
    """Return every point that can feed a part, in groups; unknown stands first.

    `also` is what is recorded now: where a corrected map no longer has it, it stays on the list
    and says so, so that opening and saving a form changes nothing by itself.
    """
    grouped: Choices = [UNKNOWN, ("own", "its own battery"), ("battery", "battery, positive post")]
    if feed_map.charge_line is not None:
        grouped.append(("coach", "the coach's charge line"))
    for title, kind in _GROUPS:
        points = [p for p in feed_map.points if isinstance(_element(feed_map, p), kind)]
        if points:
            grouped.append((title, [(point, point_in_words(point, feed_map)) for point in points]))
    if also and also not in feed_map.points:
        grouped.append((also, f"{also} (not on the feed map)"))
    return grouped


def ground_choices(feed_map: FeedMap, *, also: str = "") -> Choices:
    """Return every way back to battery negative; unknown stands first."""
    choices: Choices = [UNKNOWN, *GROUND_WORDS.items()]
    if feed_map.charge_line is None:
        choices = [choice for choice in choices if choice[0] != "coach"]
    for switch in feed_map.switches:
        if all(point in GROUND_WORDS or point == "unknown" for point in switch.feed):
            choices.append((f"switch:{switch.id}", f"through {_named('switch', switch)}"))
    if also and also not in [value for value, _ in choices]:
        choices.append((also, f"{also} (not on the feed map)"))
    return choices


def fuse_choices(feed_map: FeedMap | None, *, also: Iterable[str] = ()) -> Choices:
    """Return the fuses to pull: `F21, 15 A, dash box: front outlet`."""
    fuses = feed_map.fuses if feed_map else ()
    choices: Choices = [(fuse.id, _fuse_words(fuse)) for fuse in fuses]
    known = {fuse.id for fuse in fuses}
    return choices + [(name, f"{name} (not on the feed map)") for name in also if name not in known]


def _fuse_words(fuse: Fuse) -> str:
    words = _fuse_name(fuse)
    if fuse.box:
        words += f", {fuse.box}"
    return f"{words}: {', '.join(fuse.behind)}" if fuse.behind else words


def point_in_words(point: str, feed_map: FeedMap) -> str:
    """Say a point as a technician would: `F21, 15 A, load side`."""
    element, side = _element(feed_map, point), point.partition("@")[2]
    if isinstance(element, Fuse):
        return f"{_fuse_name(element)}, {'supply' if side else 'load'} side"
    if isinstance(element, Relay):
        rest = side or element.contact == "normally_closed"
        return f"relay {element.id}, alive {'at rest' if rest else 'when energised'}"
    if isinstance(element, Terminal):
        standard = TERMINALS.get(element.id)
        return f"terminal {element.id}" + (f", {standard.words}" if standard else "")
    if isinstance(element, Outlet | Switch):
        return _named(element_of(point).partition(":")[0], element)
    return {"battery": "battery, positive post", "coach": "the coach's charge line"}.get(
        point, point
    )


def _fuse_name(fuse: Fuse) -> str:
    rating = f"{fuse.rating_a:g} A" if fuse.rating_a else "rating not recorded"
    return f"{fuse.id}, {rating}"


def _named(sort: str, element: Any) -> str:
    return f"{sort} {element.id}" + (f", {element.name}" if element.name else "")


def _element(feed_map: FeedMap, point: str) -> Any:
    found = feed_map.elements.get(element_of(point))
    return None if isinstance(found, Load) else found
