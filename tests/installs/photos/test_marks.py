"""Marks on a photo: what can be drawn is kept as it is, anything else is named with its place."""

import math
import re
from typing import Any

import pytest

from installs.photos.marks import MAX_MARKS, MarksError, read_marks

ARROW = {"shape": "arrow", "from": [0.2, 0.3], "to": [0.5, 1]}
CIRCLE = {"shape": "circle", "at": [0, 0.5], "radius": 0.1}
NOTE = {"shape": "note", "at": [0.1, 0.9], "text": "ground here"}


def test_marks_that_can_be_drawn_come_back_as_they_are() -> None:
    assert read_marks([ARROW, CIRCLE, NOTE]) == [ARROW, CIRCLE, NOTE]
    assert read_marks([]) == []


def test_places_are_rounded_and_a_note_is_one_line() -> None:
    told = [{"shape": "note", "at": [1 / 3, 2 / 3], "text": " two\n lines "}]
    assert read_marks(told) == [{"shape": "note", "at": [0.3333, 0.6667], "text": "two lines"}]


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ("arrow", "The marks on a photo are a list."),
        ({"shape": "arrow"}, "The marks on a photo are a list."),
        (["arrow"], "Mark 1 is neither arrow nor circle nor note."),
        ([ARROW, {**ARROW, "shape": "star"}], "Mark 2 is neither arrow nor circle nor note."),
        ([{**ARROW, "shape": ["arrow"]}], "Mark 1 is neither"),
        ([{**ARROW, "to": [0.5]}], "Mark 1 (arrow), to: a point has two numbers"),
        ([{**ARROW, "to": [0.5, 1.2]}], "Mark 1 (arrow), to: 1.2 lies outside the photo"),
        ([{**ARROW, "to": [-0.1, 0]}], "lies outside the photo"),
        ([{**ARROW, "to": [math.nan, 0]}], "a number from 0 to 1 is missing"),
        ([{**ARROW, "to": [math.inf, 0]}], "a number from 0 to 1 is missing"),
        ([{**ARROW, "to": ["0.5", 0]}], "a number from 0 to 1 is missing"),
        ([{**ARROW, "to": [True, 0]}], "a number from 0 to 1 is missing"),
        ([{**CIRCLE, "radius": 0}], "a circle of no size"),
        ([{**CIRCLE, "radius": None}], "Mark 1 (circle), radius"),
        ([{**NOTE, "text": "   "}], "a note says something"),
        ([{**NOTE, "text": 5}], "a note says something"),
        ([{**NOTE, "text": "x" * 201}], "at most 200 characters, not 201"),
        ([{**NOTE, "colour": "red"}], "Mark 1 (note) has no “colour”."),
        ([CIRCLE] * (MAX_MARKS + 1), "41 marks are too many"),
    ],
)
def test_what_cannot_be_drawn_is_named_with_its_place(told: Any, sentence: str) -> None:
    with pytest.raises(MarksError, match=re.escape(sentence)):
        read_marks(told)
