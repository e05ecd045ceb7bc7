"""Points of a feed map as people write them in a row: `F08`, `F08 supply`, `15R`, `R1 rest`."""

from collections.abc import Iterable, Mapping

from vehicles.domain.feedmap import GROUNDS, PLAIN_POINTS

SORTS = ("fuse", "terminal", "relay", "switch", "outlet")
# Words that may stand after a name, and the mark they put on the point.
SIDES = {
    "supply": "@supply",
    "supply side": "@supply",
    "load": "",
    "load side": "",
    "rest": "@rest",
    "at rest": "@rest",
    "energised": "",
    "when energised": "",
}
PLAIN_WORDS = {
    "battery": "battery",
    "battery positive": "battery",
    "coach": "coach",
    "charge line": "coach",
    "own": "own",
    "own battery": "own",
    "unknown": "unknown",
    "?": "unknown",
}
GROUND_WORDS = {
    "body": "body",
    "ground": "body",
    "battery negative": "battery_negative_post",
    "battery negative post": "battery_negative_post",
    "negative post": "battery_negative_post",
    "coach": "coach",
    "own": "own",
    "unknown": "unknown",
}
GROUND_SHOWN = {"battery_negative_post": "battery negative"}

# The names on a map by sort: {"fuse": ["F08", "F21"], "terminal": ["15R"], ...}
Names = Mapping[str, Iterable[str]]


def read_point(text: str, names: Names) -> str:
    """Return the point that `text` means; text that means none comes back as it is.

    A bare name is looked for among all names of the map. Where two sorts share it, the sort must
    stand before it (`fuse F08`). Whoever checks the map names what is wrong with the rest.
    """
    words = " ".join(text.split())
    plain = PLAIN_WORDS.get(words.casefold())
    if plain:
        return plain
    if ":" in words:
        return words
    sort, words = _sort_in_front(words)
    found = [
        f"{kind}:{name}{side}"
        for kind in ([sort] if sort else SORTS)
        # A name that is there twice is told by the map's check; here it is still one name.
        for name in dict.fromkeys(names.get(kind, ()))
        for side in [_side(words, name)]
        if side is not None
    ]
    if len(found) == 1:
        return found[0]
    return f"{sort}:{words}" if sort else words


def _sort_in_front(words: str) -> tuple[str, str]:
    first, _, rest = words.partition(" ")
    return (first.casefold(), rest) if first.casefold() in SORTS and rest else ("", words)


def _side(words: str, name: str) -> str | None:
    """Return the side that stands after `name` in `words`, None where `words` is another name."""
    if words.casefold() == name.casefold():
        return ""
    head, tail = words[: len(name)], words[len(name) :]
    if head.casefold() != name.casefold() or not tail.startswith((" ", ",", "@")):
        return None
    return SIDES.get(tail.strip(" ,@").casefold())


def read_points(text: str, names: Names) -> list[str]:
    """Return the points parted by semicolons; of several, any one is enough. Nothing: unknown."""
    read = [read_point(part, names) for part in text.split(";") if part.strip()]
    return list(dict.fromkeys(read)) or ["unknown"]


def read_ground(text: str, names: Names) -> str:
    """Return the ground that `text` means; text that means none comes back as it is."""
    words = " ".join(text.split())
    plain = GROUND_WORDS.get(words.casefold())
    if plain or words in GROUNDS:
        return plain or words
    return read_point(words, {"switch": names.get("switch", ())})


def written_point(point: str, names: Names) -> str:
    """Return a stored point as `read_point` reads it back, without its sort where that is clear."""
    if point in PLAIN_POINTS:
        return point
    sort, _, rest = point.partition(":")
    name, _, side = rest.partition("@")
    short = f"{name} {side}" if side else name
    return short if read_point(short, names) == point else f"{sort} {short}"


def written_points(points: str | Iterable[str], names: Names) -> str:
    """Return one point or several as they are written in a row."""
    listed = [points] if isinstance(points, str) else points
    return "; ".join(written_point(point, names) for point in listed)


def written_ground(ground: str, names: Names) -> str:
    """Return a stored ground as `read_ground` reads it back."""
    if ground.startswith("switch:"):
        return written_point(ground, {"switch": names.get("switch", ())})
    return GROUND_SHOWN.get(ground, ground)
