"""What a fuse has to carry, and that a missing figure is never taken for a good one."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.fuse import BladeSize, Load, colour_of, load_verdict

amps = st.decimals(min_value=0, max_value=60, places=1)


def test_two_outlets_on_one_fuse_are_summed() -> None:
    verdict = load_verdict(15, [10, 7])
    assert verdict.load is Load.OVER
    assert verdict.total_a == 17
    assert verdict.margin_a == -2
    assert "own feed" in verdict.words


def test_ten_amps_on_ten_leave_no_margin() -> None:
    verdict = load_verdict(10, [10])
    assert verdict.load is Load.NO_MARGIN
    assert verdict.margin_a == 0


@pytest.mark.parametrize(
    ("share", "load"), [(Decimal("0.80"), Load.WITHIN), (Decimal("0.75"), Load.NO_MARGIN)]
)
def test_twelve_continuous_amps_on_fifteen_hang_on_the_shops_share(
    share: Decimal, load: Load
) -> None:
    # Exactly at 0.80 of 15 A is still within; at 0.75 a 20 A fuse would be asked for.
    assert load_verdict(15, [12], share=share).load is load


def test_a_load_nobody_recorded_is_not_good() -> None:
    verdict = load_verdict(15, [3, None])
    assert verdict.load is Load.UNKNOWN
    assert "not proven" in verdict.words


def test_known_loads_beyond_the_rating_are_over_whatever_is_missing() -> None:
    assert load_verdict(15, [16, None]).load is Load.OVER


def test_an_unread_rating_is_unknown() -> None:
    verdict = load_verdict(None, [3])
    assert verdict.load is Load.UNKNOWN
    assert verdict.margin_a is None
    assert "read the fuse" in verdict.words


def test_no_load_at_all_is_within() -> None:
    assert load_verdict(10, []).load is Load.WITHIN


def test_tenths_of_amps_are_not_blurred() -> None:
    assert load_verdict(0.3, [0.1, 0.2], share=Decimal(1)).load is Load.WITHIN


@pytest.mark.parametrize(
    ("rating", "loads", "share"),
    [(10, [-1], Decimal(1)), (0, [1], Decimal(1)), (10, [1], Decimal(0)), (10, [1], Decimal(2))],
)
def test_nonsense_figures_are_refused(rating: int, loads: list[int], share: Decimal) -> None:
    with pytest.raises(ValueError, match=r"must|cannot"):
        load_verdict(rating, loads, share=share)


@given(st.integers(1, 60), st.lists(amps, max_size=5), amps)
def test_one_more_load_never_makes_the_verdict_better(
    rating: int, loads: list[Decimal], extra: Decimal
) -> None:
    order = [Load.WITHIN, Load.NO_MARGIN, Load.OVER]
    before, after = load_verdict(rating, loads), load_verdict(rating, [*loads, extra])
    assert order.index(after.load) >= order.index(before.load)


def test_a_rating_that_is_not_charted_has_no_colour() -> None:
    assert colour_of(BladeSize.MINI, 50) is None
    assert colour_of(BladeSize.REGULAR, 7.5) == "brown"
