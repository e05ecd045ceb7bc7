"""The fuse boxes of a vehicle as grids: which to pull, which are tapped, which nobody measured."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from installs.domain.sheet import Sheet
from vehicles.domain.feedmap import PROVEN, FeedMap, Fuse, element_of
from vehicles.domain.state import State

UNNAMED = "box not recorded"


def boxes(sheet: Sheet, tow: State, ticked: Collection[str] = ()) -> list[dict[str, Any]]:
    """Return each box with its positions for parts/fuse_box.html, in the order of the map."""
    return _boxes(sheet.feed_map, tow, dict(_taps(sheet)), ticked)


def boxes_of_map(feed_map: FeedMap, tow: State | None) -> list[dict[str, Any]]:
    """Return the boxes of a range, of which nobody knows what is tapped."""
    return _boxes(feed_map, tow or State("tow"), {}, ())


def _boxes(
    feed_map: FeedMap, tow: State, taps: Mapping[str, str], ticked: Collection[str]
) -> list[dict[str, Any]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for fuse in feed_map.fuses:
        position = _position(fuse, tow, taps.get(fuse.id, ""), fuse.id in ticked)
        found.setdefault(fuse.box or UNNAMED, []).append(position)
    return [{"name": name, "positions": positions} for name, positions in found.items()]


def _position(fuse: Fuse, tow: State, tapped: str, ticked: bool) -> dict[str, Any]:
    pulled = fuse.id in tow.fuses_out and (tow.fuses_out[fuse.id] or True)
    return {
        "id": fuse.id,
        "rating": f"{fuse.rating_a:g} A" if fuse.rating_a else "",
        "blade": fuse.blade,
        "feeds": ", ".join(fuse.behind),
        "row": fuse.row,
        "col": fuse.col,
        "pulled": pulled,
        "tapped": tapped,
        "known": fuse.known in PROVEN and fuse.id not in tow.doubted,
        "out": ticked,
    }


def _taps(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Yield (fuse, side) of every tap of a fitted part."""
    for fitting in sheet.fittings:
        for port in fitting.ports.ports.values():
            if port.feed.startswith("fuse:"):
                side = "supply" if port.feed.endswith("@supply") else "load"
                yield element_of(port.feed).partition(":")[2], side
