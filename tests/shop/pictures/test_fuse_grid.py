"""The fuse box drawn: each fuse in its place, the ones to pull in words, readable with thirty."""

from itertools import combinations
from typing import Any

import pytest
from django.template.loader import render_to_string

from shop.desk.pictures.fuse_grid import CELL, draw, place
from shop.desk.pictures.text import MONO

PHONE = 330
WIDEST = {"narrow": PHONE, "broad": 480, "broader": 736, "broadest": 1312}


def fuse(name: str, **more: Any) -> dict[str, Any]:
    return {
        "id": name, "rating": "15 A", "feeds": "horn", "row": None, "col": None, "pulled": False,
        "tapped": "", "known": True, **more,
    }  # fmt: skip


def thirty(name: str = "F{:02}", columns: int = 6) -> dict[str, Any]:
    positions = [
        fuse(
            name.format(n + 1), row=n // columns + 1, col=n % columns + 1,
            pulled=n if n % 7 == 1 else False, tapped="supply" if n % 5 == 0 else "",
            known=n % 4 != 0,
        )
        for n in range(30)
    ]  # fmt: skip
    return {"name": "dash box", "positions": positions}


def test_what_is_to_be_pulled_is_said_with_its_step() -> None:
    grid = draw({"name": "dash", "positions": [fuse("F08", pulled=5), fuse("F09", pulled=True)]})
    first, second = grid.cells
    assert [word for word, _ in first.notes] == ["PULL", "step 5"]
    assert [word for word, _ in second.notes] == ["PULL"]
    assert grid.to_pull == ("F08, 15 A for horn (pull, step 5)", "F09, 15 A for horn (pull)")
    assert "To pull: F08" in grid.words


def test_none_to_pull_is_said() -> None:
    grid = draw({"name": "dash", "positions": [fuse("F08")]})
    assert grid.words == "1 fuse. None of them is pulled for towing."


def test_a_rating_or_feed_that_nobody_read_is_no_blank() -> None:
    (cell,) = draw({"name": "dash", "positions": [fuse("F1", rating="", known=False)]}).cells
    assert cell.rating == "? A"
    assert cell.unsure
    assert cell.full == "F1, rating not recorded for horn (feed ?)"


def test_two_fuses_said_to_sit_in_one_place_are_both_shown() -> None:
    rows = place([fuse("F1", row=1, col=2), fuse("F2", row=1, col=2)])
    assert [[cell and cell["id"] for cell in row] for row in rows] == [[None, "F1"], ["F2", None]]


def test_an_empty_box_is_drawn_as_nothing() -> None:
    grid = draw({"name": "dash", "positions": []})
    assert grid.cells == ()
    assert grid.height == 0


@pytest.mark.parametrize(
    ("name", "columns", "size"),
    [("F{:02}", 6, "narrow"), ("F{:02}", 9, "broad"), ("F{:02}", 10, "broader"),
     ("ENG-A{:02}", 6, "broad"),
     ("ENG-A{:02}", 10, "broader"), ("ENGINE BAY {:02}", 10, "broadest")],
)  # fmt: skip
def test_thirty_fuses_stay_readable(name: str, columns: int, size: str) -> None:
    """No two overlap, and no name, rating or note is wider than its place."""
    grid = draw(thirty(name, columns))
    assert grid.size == size
    assert len({(cell.x, cell.y) for cell in grid.cells}) == 30
    for one, two in combinations(grid.cells, 2):
        assert one.y != two.y or abs(one.x - two.x) >= one.width - 0.01
    room = WIDEST[size] * 0.94 / columns
    for cell in grid.cells:
        assert len(cell.id) * 14 * MONO <= room
        assert all(len(word) * 11 * MONO <= room for word, _ in cell.notes)
        heights = [22, 37, *(y for _, y in cell.notes)]
        assert heights == sorted(heights)
        # Above the bar that marks a tap.
        assert heights[-1] <= (82 if cell.tapped else CELL - 6)
    assert max(cell.y for cell in grid.cells) + CELL == grid.height


def test_the_table_beside_it_says_all_of_each_fuse() -> None:
    long = fuse("ENGINE BAY 01", pulled=3, tapped="load", known=False)
    (row,) = draw({"name": "b", "positions": [long]}).rows
    assert (row.id, row.rating, row.feeds) == ("ENGINE BAY 01", "15 A", "horn")
    assert row.said == "PULL, step 3, tap load, feed ?"


def test_names_that_begin_alike_stay_apart() -> None:
    grid = draw({"name": "b", "positions": [fuse("ENG-A12"), fuse("ENG-A13")]})
    assert [cell.id for cell in grid.cells] == ["ENG-A12", "ENG-A13"]


def test_it_is_titled_and_described() -> None:
    html = render_to_string("parts/fuse_grid.svg.html", {"grid": draw(thirty()), "name": "1"})
    assert 'aria-labelledby="grid-title-1 grid-words-1"' in html
    assert html.count(">PULL<") == 5
    assert html.count("<tr>") == 31
    assert 'class="fuse out' in html
