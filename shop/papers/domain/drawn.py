"""Marks of a photo in dots, as a drawing over it takes them."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

# Parts of the photo's long side, so that a mark looks the same on a large and a small photo.
_THIN, _WIDE, _HEAD, _LETTERS = 0.006, 0.014, 0.04, 0.045


def drawn_marks(
    marks: Sequence[Mapping[str, Any]], width: int, height: int
) -> list[dict[str, Any]]:
    """Return each mark with its places in dots of a photo of this size."""
    side = max(width, height)
    lines = {"thin": round(side * _THIN, 1), "wide": round(side * _WIDE, 1)}
    drawn = []
    for mark in marks:
        place = {"shape": mark["shape"], **lines}
        if mark["shape"] == "arrow":
            place["path"] = _arrow(
                _dot(mark["from"], width, height), _dot(mark["to"], width, height), side
            )
        else:
            place["x"], place["y"] = _dot(mark["at"], width, height)
        if mark["shape"] == "circle":
            place["r"] = round(mark["radius"] * width, 1)
        if mark["shape"] == "note":
            place |= {"text": mark["text"], "size": round(side * _LETTERS, 1)}
        drawn.append(place)
    return drawn


def _dot(at: Sequence[float], width: int, height: int) -> tuple[float, float]:
    return round(at[0] * width, 1), round(at[1] * height, 1)


def _arrow(start: tuple[float, float], end: tuple[float, float], side: int) -> str:
    """Return the path of a line with two strokes at its end."""
    back = math.atan2(start[1] - end[1], start[0] - end[0])
    tips = [
        (
            end[0] + math.cos(back + turn) * side * _HEAD,
            end[1] + math.sin(back + turn) * side * _HEAD,
        )
        for turn in (0.5, -0.5)
    ]
    (x1, y1), (x2, y2) = tips
    return (
        f"M{start[0]} {start[1]}L{end[0]} {end[1]}"
        f"M{x1:.1f} {y1:.1f}L{end[0]} {end[1]}L{x2:.1f} {y2:.1f}"
    )
