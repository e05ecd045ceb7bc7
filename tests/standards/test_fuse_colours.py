"""Fuse colours against a published chart.

Source: fuse chart printed at grainews.ca, read there: one column for mini and regular
blades, one for maxi. ISO 8820-3 itself (types C, E, F) was seen by title only.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from vehicles.domain.fuse import COLOURS, BladeSize, colour_of, ratings_of_colour, standard_ratings

SMALL = [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40]
LARGE = [20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 120]


def test_charted_ratings() -> None:
    assert list(standard_ratings(BladeSize.MINI)) == SMALL
    assert list(standard_ratings(BladeSize.REGULAR)) == SMALL
    assert list(standard_ratings(BladeSize.MAXI)) == LARGE


@pytest.mark.parametrize(
    ("rating", "small", "large"),
    [
        (20, "yellow", "yellow"),
        (25, "clear", "grey"),
        (30, "green", "green"),
        (35, "blue-green", "brown"),
        (40, "orange", "orange"),
    ],
)
def test_ratings_that_both_columns_have(rating: int, small: str, large: str) -> None:
    assert colour_of(BladeSize.MINI, rating) == small
    assert colour_of(BladeSize.REGULAR, rating) == small
    assert colour_of(BladeSize.MAXI, rating) == large


def test_red_alone_is_ambiguous() -> None:
    assert ratings_of_colour(" Red ") == {
        BladeSize.MINI: Decimal(10),
        BladeSize.REGULAR: Decimal(10),
        BladeSize.MAXI: Decimal(50),
    }


@pytest.mark.parametrize(
    ("colour", "small", "large"),
    [("grey", 2, 25), ("violet", 3, 100), ("tan", 5, 70), ("blue", 15, 60), ("clear", 25, 80)],
)
def test_other_colours_that_change_their_meaning_with_the_size(
    colour: str, small: int, large: int
) -> None:
    meanings = ratings_of_colour(colour)
    assert meanings[BladeSize.REGULAR] == small
    assert meanings[BladeSize.MAXI] == large


def test_within_one_size_a_colour_means_one_rating() -> None:
    for chart in COLOURS.values():
        assert len(set(chart.values())) == len(chart)


def test_unknown_colour_means_nothing() -> None:
    assert ratings_of_colour("plaid") == {}
