"""The two-sided rule: load / share <= fuse <= wire, and never a bigger fuse for a thin wire."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.bands import Band, Verdict
from vehicles.domain.fuse import BladeSize, Side, fuse_verdict, standard_ratings, summed_a
from vehicles.domain.inputs import InputError


@pytest.mark.parametrize(
    ("share", "rating", "side"),
    [
        ("0.80", 15, Side.FITS),  # 12 / 0.8 is exactly 15: the boundary belongs to the fuse
        ("0.75", 15, Side.FUSE_TOO_SMALL),  # 16 A asked for
        ("0.75", 20, Side.FITS),
        ("0.80", 25, Side.FUSE_TOO_LARGE),
    ],
)
def test_twelve_lasting_amps_on_wire_for_twenty(share, rating, side) -> None:
    found = fuse_verdict(rating, 12, 20, share=Decimal(share), size=BladeSize.REGULAR)
    assert found.side is side
    assert Decimal(20) in found.ratings


def test_wire_too_small_rather_than_a_bigger_fuse() -> None:
    found = fuse_verdict(15, 17, 15, size=BladeSize.REGULAR)
    assert found.side is Side.WIRE_TOO_SMALL
    assert found.verdict is Verdict.FAIL
    assert found.ratings == ()
    assert "thicker wire" in found.words
    assert "bigger" not in found.words


def test_no_standard_rating_between_the_sides_is_wire_too_small() -> None:
    # 8.4 A / 0.8 = 10.5 A, the wire bears 14 A: 10 is too small and 15 too large.
    assert fuse_verdict(10, 8.4, 14, size=BladeSize.MINI).side is Side.WIRE_TOO_SMALL
    assert fuse_verdict(12, 8.4, 14).side is Side.FITS  # a fuse of another make of ratings


def test_ten_amps_on_ten_has_no_room() -> None:
    found = fuse_verdict(10, 10, 30)
    assert found.side is Side.FUSE_TOO_SMALL
    assert found.load_margin_a == Band(-2.5, -2.5, -2.5)
    assert found.wire_margin_a == 20
    assert "15 A or 20 A or 25 A or 30 A would fit" in found.words


def test_upsizing_is_not_offered_before_the_wire_is_recorded() -> None:
    found = fuse_verdict(15, 17, None, socket_a=20)
    assert found.side is Side.FUSE_TOO_SMALL
    assert found.ratings == ()
    assert "own feed" in found.words


def test_a_socket_may_be_the_weaker_side() -> None:
    assert fuse_verdict(20, 10, 30, socket_a=15).side is Side.FUSE_TOO_LARGE


@pytest.mark.parametrize(
    ("rating", "load", "wire", "first"),
    [
        (15, None, 20, "measure the load's current"),
        (15, 10, None, "record what the wire may carry"),
        (None, 10, 20, "read the rating on the fuse"),
        (None, None, None, "measure the load's current"),
    ],
)
def test_what_is_missing_is_unknown_and_named(rating, load, wire, first) -> None:
    found = fuse_verdict(rating, load, wire)
    assert found.verdict is Verdict.UNKNOWN
    assert found.measure[0] == first
    assert first in found.words


def test_a_doubtful_load_is_too_close_to_call() -> None:
    found = fuse_verdict(15, Band(11.5, 10, 13), 20)
    assert found.verdict is Verdict.CLOSE
    assert "measure the load" in found.words


@pytest.mark.parametrize(
    ("rating", "load", "wire", "share", "field"),
    [
        (0, 1, 1, 0.8, "rating"),
        (10, -1, 1, 0.8, "load"),
        (10, 1, 0, 0.8, "wire"),
        (10, 1, 1, 1.2, "share"),
    ],
)
def test_nonsense_is_refused_by_field(rating, load, wire, share, field) -> None:
    with pytest.raises(InputError) as caught:
        fuse_verdict(rating, load, wire, share=share)
    assert caught.value.field == field


@given(
    rating=st.sampled_from(standard_ratings(BladeSize.REGULAR)),
    load=st.floats(0, 50),
    wire=st.floats(1, 60),
    more=st.floats(0, 20),
)
def test_a_thicker_wire_never_makes_a_fit_a_misfit(rating, load, wire, more) -> None:
    here = fuse_verdict(rating, load, wire)
    thicker = fuse_verdict(rating, load, wire + more)
    if here.side is Side.FITS:
        assert thicker.side is Side.FITS
    assert set(here.ratings) <= set(thicker.ratings)
    for fitting in here.ratings:
        assert fuse_verdict(fitting, load, wire).side is Side.FITS


def test_loads_are_summed_as_if_they_came_together() -> None:
    assert summed_a([10, Band(7, 6, 8)]) == Band(17, 16, 18)
    with pytest.raises(InputError, match="cannot be negative"):
        summed_a([10, -1])
