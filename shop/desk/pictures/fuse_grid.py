"""A fuse box as it sits in the car, with the fuses to pull: plain data for its picture.

``draw(box)`` takes a box as parts/fuse_box.html does and lays it out for parts/fuse_grid.svg.html.
Across, a place is percent of the picture's width; heights are pixels.
No Django, no clock, no rows.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from .text import clip

CELL, INSET = 92, 3  # height of a place; between its edge and the fuse drawn in it
ID_CHARS, RATING_CHARS = 12, 6
LOOSE_ACROSS = 6
LEAST_WIDTH, ID_WIDTH, MARGIN = 52.0, 8.7, 8.0  # of a place; of a letter of its name at 14 px
# Up to which width a box is drawn how: drawings.css keeps it at least that wide, and it slides.
SIZES = ((312.0, "narrow"), (480.0, "broad"), (736.0, "broader"))

Position = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Cell:
    """One fuse in its place. ``notes`` are the lines under its rating, the pulling first."""

    id: str
    rating: str
    full: str
    pulled: bool
    tapped: bool
    unsure: bool
    x: float
    y: float
    width: float
    notes: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One fuse in the table beside the drawing, nothing of it cut short."""

    id: str
    rating: str
    feeds: str
    said: str


@dataclass(frozen=True, slots=True)
class Grid:
    """The drawing. ``size`` says how much room its places need, from ``narrow`` to ``broadest``."""

    title: str
    words: str
    columns: int
    height: int
    cells: tuple[Cell, ...]
    to_pull: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def size(self) -> str:
        longest = max((len(cell.id) for cell in self.cells), default=0)
        needed = self.columns * max(LEAST_WIDTH, longest * ID_WIDTH + MARGIN)
        return next((size for width, size in SIZES if needed <= width), "broadest")


def place(positions: Iterable[Position]) -> list[list[Position | None]]:
    """Lay fuse positions out as they sit in the box: rows of equal length, None where none is.

    Positions with ``row`` and ``col`` (from 1) stand there; the others follow below in the
    order given. Two positions on one place do not hide each other: the second one follows below.
    """
    placed: dict[tuple[int, int], Position] = {}
    loose: list[Position] = []
    for position in positions:
        at = (position.get("row") or 0, position.get("col") or 0)
        if min(at) < 1 or at in placed:
            loose.append(position)
        else:
            placed[at] = position
    width = max((col for _, col in placed), default=min(len(loose), LOOSE_ACROSS))
    rows: list[list[Position | None]] = []
    for _, group in groupby(sorted(placed), key=lambda at: at[0]):
        row = {col: placed[number, col] for number, col in group}
        rows.append([row.get(col) for col in range(1, width + 1)])
    for start in range(0, len(loose), width or 1):
        line = loose[start : start + width]
        rows.append([*line, *[None] * (width - len(line))])
    return rows


def draw(box: Mapping[str, Any]) -> Grid:
    """Lay a box out: ``{"name", "positions": [...]}`` as shop.desk.present.fuses makes it."""
    rows = place(box["positions"])
    columns = max((len(row) for row in rows), default=1)
    cells = [
        _cell(position, at, number, columns)
        for number, row in enumerate(rows)
        for at, position in enumerate(row)
        if position is not None
    ]
    to_pull = tuple(cell.full for cell in cells if cell.pulled)
    said = f"To pull: {'; '.join(to_pull)}." if to_pull else "None of them is pulled for towing."
    return Grid(
        title=f"Fuses of {box['name']}",
        words=f"{len(cells)} fuse{'' if len(cells) == 1 else 's'}. {said}",
        columns=columns,
        height=CELL * len(rows),
        cells=tuple(cells),
        to_pull=to_pull,
        rows=tuple(
            Row(it["id"], it["rating"], it.get("feeds", ""), ", ".join(_words(it)))
            for row in rows
            for it in row
            if it is not None
        ),
    )


def _cell(position: Position, at: int, row: int, columns: int) -> Cell:
    pulled, tapped = position["pulled"], position["tapped"]
    words = _words(position)
    width = 100 / columns
    y = row * CELL
    return Cell(
        id=clip(position["id"], ID_CHARS),
        rating=clip(position["rating"] or "? A", RATING_CHARS),
        full=_sentence(position, words),
        pulled=bool(pulled),
        tapped=bool(tapped),
        unsure=position.get("known") is False,
        x=round(at * width, 3),
        y=y,
        width=round(width, 3),
        # Below the name (at 22) and the rating (at 37) of the place.
        notes=tuple((word, 53.0 + n * 13) for n, word in enumerate(_short(words))),
    )


def _words(position: Position) -> list[str]:
    """What is to be said of a fuse: that it is pulled, tapped, or fed nobody knows how."""
    pulled, tapped = position["pulled"], position["tapped"]
    words = ["PULL"] if pulled else []
    if pulled and pulled is not True:
        words.append(f"step {pulled}")
    if tapped:
        words.append(f"tap {tapped}")
    if position.get("known") is False:
        words.append("feed ?")
    return words


def _short(words: list[str]) -> list[str]:
    """The words that fit into a place: the legend says that what is named there is a tap."""
    return [word.removeprefix("tap ") for word in words[:3]]


def _sentence(position: Position, words: list[str]) -> str:
    rating = position["rating"] or "rating not recorded"
    feeds = f" for {position['feeds']}" if position.get("feeds") else ""
    said = ", ".join(word.lower() for word in words)
    return f"{position['id']}, {rating}{feeds}{f' ({said})' if said else ''}"
