"""The chain and the stop against published rules and tables; each source stands at its check."""

from __future__ import annotations

from decimal import Decimal

import pytest

from vehicles.domain.bands import Verdict, band
from vehicles.domain.couplings import Anchor, anchor_verdict, bar_level, lengths_in_order, slack
from vehicles.domain.limit_tables import STOP_CLASSES
from vehicles.domain.ratings import (
    POUND_KG,
    Basis,
    Link,
    Part,
    cables_link,
    coach_allowance,
    judge_chain,
    least_breaking_lb,
)
from vehicles.domain.stopping import braking, deceleration, stop_distance
from vehicles.domain.units import Kind, to_canonical, to_display

IN = 25.4


def lb(pounds: float) -> float:
    return pounds * POUND_KG


# -- weakest link ----------------------------------------------------------------------


def rig(basis: str) -> list[Link]:
    """GCWR 26,000, GVWR 22,000, scaled 20,460; receiver 5,000, bar 6,000, cables 6,000 lb each."""
    coach = coach_allowance(gcwr_kg=lb(26000), gvwr_kg=lb(22000), scaled_kg=lb(20460))
    return [
        coach.link(basis),
        Link(Part.RECEIVER, lb(5000)),
        Link(Part.TOW_BAR, lb(6000)),
        cables_link([lb(6000), lb(6000)], basis=Basis.BREAKING),
    ]


EXPECTED = (Part.RECEIVER, Part.TOW_BAR, Part.SAFETY_CABLES)


def test_the_coachs_allowance_two_ways() -> None:
    # "GCWR less curb weight and payload": stated on several pages, read; the scale is trip by trip.
    coach = coach_allowance(gcwr_kg=lb(26000), gvwr_kg=lb(22000), scaled_kg=lb(20460))
    assert coach.worst_kg / POUND_KG == pytest.approx(4000)
    assert coach.scaled_kg / POUND_KG == pytest.approx(5540)


@pytest.mark.parametrize(
    ("basis", "limit", "weakest"),
    [("worst", 4000, Part.COACH_ALLOWANCE), ("scaled", 5000, Part.RECEIVER)],
)
def test_only_as_strong_as_the_weakest(basis, limit, weakest) -> None:
    # Common ground of the towing pages that were read.
    found = judge_chain(lb(limit), rig(basis), expected=EXPECTED, unit="lb")
    assert found.verdict is Verdict.PASS  # equality passes
    assert found.weakest.part is weakest
    assert found.limit_kg / POUND_KG == pytest.approx(limit)
    over = judge_chain(lb(limit + 1), rig(basis), expected=EXPECTED, unit="lb")
    assert over.verdict is Verdict.FAIL  # one pound over


def test_a_missing_rating_is_unknown_never_endless() -> None:
    links = [*rig("worst"), Link(Part.BASE_PLATE, None)]
    assert judge_chain(lb(3000), links).verdict is Verdict.UNKNOWN
    assert judge_chain(lb(4500), links).verdict is Verdict.FAIL  # the known one decides


def test_two_thousand_kilograms_in_pounds() -> None:
    assert round(2000 / POUND_KG, 2) == 4409.25
    assert to_display(Kind.MASS, Decimal(2000), "lb") == 4409


# -- safety cables ---------------------------------------------------------------------


def test_two_cables_of_3000_for_4800_pounds() -> None:
    """Federal guidance on 393.70(d), question 2, adds them up; New Hampshire RSA 266:63 does not.

    Both read. The stricter rule is where a shop starts.
    """
    cables = [lb(3000), lb(3000)]
    for rule, verdict in (("combined", Verdict.PASS), ("each", Verdict.FAIL)):
        link = cables_link(cables, basis=Basis.BREAKING, rule=rule)
        assert judge_chain(lb(4800), [link], expected=()).verdict is verdict
    default = cables_link(cables, basis=Basis.BREAKING)
    assert judge_chain(lb(4800), [default], expected=()).verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("gross", "breaking", "kilonewtons"),
    [(2000, 2000, "8.90"), (3500, 3500, "15.57"), (5000, 5000, "22.24"), (2001, 3500, None),
     (7200, 7200, None)],
)  # fmt: skip
def test_least_breaking_force_by_class(gross, breaking, kilonewtons) -> None:
    # SAE J684 as quoted in a trailer glossary, read; class limits by weight from memory.
    assert least_breaking_lb(gross) == breaking
    if kilonewtons:
        newtons = to_canonical(Kind.FORCE, Decimal(breaking), "lbf")
        assert to_display(Kind.FORCE, newtons, "kN") == Decimal(kilonewtons)


def test_a_working_load_is_not_a_breaking_force() -> None:
    # Dealers' answer pages mix them up; the one is about a third of the other.
    link = cables_link([lb(5000), lb(5000)], basis=Basis.WORKING)
    assert link.rating_kg is None
    assert "breaking load" in link.measure
    asked = cables_link([lb(5000), lb(5000)], basis=Basis.WORKING, wanted=Basis.WORKING)
    assert asked.rating_kg == lb(5000)


# -- geometry --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rise_in", "verdict"),
    [(0, Verdict.PASS), (2, Verdict.PASS), (3, Verdict.CLOSE), (4, Verdict.CLOSE),
     (5, Verdict.FAIL), (-5, Verdict.FAIL)],
)  # fmt: skip
def test_as_level_as_two_to_four_inches(rise_in, verdict) -> None:
    # A trade instructor's page, read: "within two to four inches"; the shop settles which.
    assert bar_level(rise_in * IN, 36 * IN).verdict is verdict
    settled = bar_level(rise_in * IN, 36 * IN, most_rise_mm=4 * IN).verdict
    assert settled is (Verdict.FAIL if abs(rise_in) > 4 else Verdict.PASS)


def test_cables_then_lanyard_then_cord() -> None:
    # Two articles, read, for cables before lanyard; the cord's place is from memory.
    lengths = {"safety cables": 900, "breakaway lanyard": 1100, "umbilical cord": 1300}
    assert lengths_in_order(lengths).verdict is Verdict.PASS
    assert lengths_in_order({**lengths, "safety cables": 1100}).verdict is Verdict.FAIL
    # People disagree which acts first, so the order is the shop's.
    other = ("breakaway lanyard", "safety cables", "umbilical cord")
    assert lengths_in_order(lengths, order=other).verdict is Verdict.FAIL


def test_a_cable_too_short_for_the_turn_and_too_low_over_the_road() -> None:
    # Owners' reports, read: long ones snag and pull the pin, short ones pull in tight in turns.
    turn, ground = slack(straight_mm=4 * IN, full_lock_mm=9 * IN, loop_mm=1 * IN)
    assert turn.verdict is Verdict.FAIL
    assert turn.margin == band(-5 * IN)
    assert ground.verdict is Verdict.FAIL


@pytest.mark.parametrize("anchor", [None, *Anchor])
def test_only_the_motorhomes_own_structure_holds_the_lanyard(anchor) -> None:
    # A magazine's answer column, read: the receiver tore off with the lanyard clipped to it.
    verdict, words = anchor_verdict(anchor)
    wanted = {None: Verdict.UNKNOWN, Anchor.FRAME_EYE: Verdict.PASS}.get(anchor, Verdict.FAIL)
    assert verdict is wanted
    assert words.endswith(".")


# -- stopping --------------------------------------------------------------------------


@pytest.mark.parametrize("row", STOP_CLASSES.values(), ids=lambda row: row.code)
def test_force_share_and_deceleration_of_the_20_mph_table_agree(row) -> None:
    # 49 CFR 393.52(d) from memory; its numbers read in 67 Pa. Code 175, table I.
    assert deceleration(row.share) == pytest.approx(row.feet_per_s2, abs=0.03)


@pytest.mark.parametrize(("ft_s2", "feet"), [(14, 30.73), (17, 25.31), (21, 20.49), (9.5, 45.29)])
def test_distance_from_20_mph(ft_s2: float, feet: float) -> None:
    # 9.5 ft/s² and 45 ft: New Jersey 39:3-68, read. Printed 20 and 25 ft are below v²/2a.
    assert stop_distance(20, ft_s2) == pytest.approx(feet, abs=0.006)


def test_what_the_car_has_to_add() -> None:
    found = braking(20000, 4000, coach_share=0.435, wanted_share=0.435)
    assert found.share == pytest.approx(0.3625)
    assert found.ft_s2 == pytest.approx(11.66, abs=0.005)
    assert found.ft_s2 < STOP_CLASSES["B2"].feet_per_s2
    assert found.wanted_lbf == pytest.approx(1740)
    assert found.car_share == pytest.approx(0.435)
