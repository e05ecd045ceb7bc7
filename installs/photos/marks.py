"""What somebody drew on a photo: arrows, circles and notes, in parts of its width and height.

``[{"shape": "arrow", "from": [0.2, 0.3], "to": [0.5, 0.5]},
{"shape": "circle", "at": [0.5, 0.5], "radius": 0.1},
{"shape": "note", "at": [0.1, 0.9], "text": "ground here"}]``

x runs from 0 (left) to 1 (right), y from 0 (top) to 1 (bottom); a radius is a part of the width.
So a mark stays in its place in the thumbnail, on the page and in print.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

MAX_MARKS = 40
MAX_NOTE = 200
_FIELDS = {
    "arrow": {"from": "point", "to": "point"},
    "circle": {"at": "point", "radius": "radius"},
    "note": {"at": "point", "text": "text"},
}


class MarksError(ValueError):
    """The marks are none that can be drawn; `str()` of it is a sentence that names the place."""


def read_marks(told: Any) -> list[dict[str, Any]]:
    """Return the marks with nothing but their known fields. Raises MarksError."""
    if not isinstance(told, list):
        raise MarksError("The marks on a photo are a list.")
    if len(told) > MAX_MARKS:
        raise MarksError(f"{len(told)} marks are too many to be read: at most {MAX_MARKS}.")
    return [_mark(number, mark) for number, mark in enumerate(told, 1)]


def _mark(number: int, told: Any) -> dict[str, Any]:
    shape = told.get("shape") if isinstance(told, Mapping) else None
    if not isinstance(shape, str) or shape not in _FIELDS:
        raise MarksError(f"Mark {number} is neither arrow nor circle nor note.")
    mark: dict[str, Any] = {"shape": shape}
    for name, kind in _FIELDS[shape].items():
        mark[name] = _READERS[kind](f"Mark {number} ({shape}), {name}", told.get(name))
    extra = sorted(set(map(str, told)) - {"shape", *_FIELDS[shape]})
    if extra:
        raise MarksError(f"Mark {number} ({shape}) has no “{extra[0]}”.")
    return mark


def _part(where: str, told: Any) -> float:
    """Return a number from 0 to 1 to four places: a tenth of a dot on the largest photo."""
    if isinstance(told, bool) or not isinstance(told, int | float) or not math.isfinite(told):
        raise MarksError(f"{where}: a number from 0 to 1 is missing.")
    if not 0 <= told <= 1:
        raise MarksError(f"{where}: {told:g} lies outside the photo (0 to 1).")
    return round(float(told), 4)


def _point(where: str, told: Any) -> list[float]:
    if not isinstance(told, list | tuple) or len(told) != 2:  # noqa: PLR2004 - x and y
        raise MarksError(f"{where}: a point has two numbers, across and down.")
    return [_part(where, value) for value in told]


def _radius(where: str, told: Any) -> float:
    radius = _part(where, told)
    if radius == 0:
        raise MarksError(f"{where}: a circle of no size shows nothing.")
    return radius


def _text(where: str, told: Any) -> str:
    text = " ".join(told.split()) if isinstance(told, str) else ""
    if not text or "\0" in text:
        raise MarksError(f"{where}: a note says something.")
    if len(text) > MAX_NOTE:
        raise MarksError(f"{where}: a note has at most {MAX_NOTE} characters, not {len(text)}.")
    return text


_READERS = {"point": _point, "radius": _radius, "text": _text}
