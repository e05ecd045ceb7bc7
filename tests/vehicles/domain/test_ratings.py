"""Chain, couplings, stopping and hand checks: what is unknown and what contradicts itself."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.answers import conditional, off, on, unknown
from vehicles.domain.bands import Unknown, Verdict
from vehicles.domain.couplings import bar_angle, bar_level, lengths_in_order, slack
from vehicles.domain.handchecks import Result, Setting, assist_match, hand_check
from vehicles.domain.inputs import InputError
from vehicles.domain.ratings import (
    EXPECTED,
    Basis,
    Link,
    Part,
    Weighed,
    cables_link,
    coach_allowance,
    judge_chain,
    least_breaking_lb,
    towed_weight,
)
from vehicles.domain.stopping import braking, stop_distance


def chain(**ratings: float | None) -> list[Link]:
    return [Link(Part[name.upper()], kg) for name, kg in ratings.items()]


FULL = {
    "coach_allowance": 2200.0,
    "receiver": 2300.0,
    "tow_bar": 2700.0,
    "base_plate": 2500.0,
    "safety_cables": 2400.0,
}


def test_a_part_that_is_not_even_listed_is_missing() -> None:
    listed = {name: kg for name, kg in FULL.items() if name != "base_plate"}
    found = judge_chain(1800, chain(**listed))
    assert found.verdict is Verdict.UNKNOWN
    assert [link.part for link in found.missing] == [Part.BASE_PLATE]
    assert found.words.startswith("Weakest of those recorded: coach's allowance, 2,200 kg.")
    assert "Not recorded: base plate." in found.words


def test_no_chain_at_all_is_unknown() -> None:
    found = judge_chain(1800, [])
    assert found.verdict is Verdict.UNKNOWN
    assert found.weakest is None
    assert found.limit_kg is None
    assert len(found.missing) == len(EXPECTED)
    assert judge_chain(1800, [], expected=()).verdict is Verdict.UNKNOWN


def test_a_weight_nobody_took_is_asked_for_first() -> None:
    found = judge_chain(towed_weight(1800, Weighed.CURB), chain(**FULL))
    assert found.verdict is Verdict.UNKNOWN
    assert found.links[0][1].measure == ("weigh the towed vehicle as it is towed, loaded",)
    assert judge_chain(None, chain(**FULL)).verdict is Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("kg", "kind"), [(None, Weighed.SCALED), (1800, None), (1800, Weighed.CURB)]
)
def test_weights_that_prove_nothing(kg, kind) -> None:
    assert isinstance(towed_weight(kg, kind), Unknown)


def test_a_scale_errs_and_a_label_does_not() -> None:
    weighed = towed_weight(2000, Weighed.SCALED)
    assert (weighed.low, weighed.value, weighed.high) == pytest.approx((1990, 2000, 2010))
    assert towed_weight(2000, Weighed.GVWR).certain
    near = judge_chain(towed_weight(2195, Weighed.SCALED), chain(**FULL))
    assert near.verdict is Verdict.CLOSE
    assert near.links[0][1].verdict is Verdict.CLOSE


def test_a_brake_unit_has_a_lower_end_too() -> None:
    unit = Link(Part.BRAKE_UNIT, 3600, least_kg=900)
    for kg, verdict in ((850, Verdict.FAIL), (900, Verdict.PASS), (3601, Verdict.FAIL)):
        assert judge_chain(kg, [unit], expected=()).verdict is verdict


def test_pounds_in_sentences_when_asked_for() -> None:
    found = judge_chain(1800, chain(**FULL), unit="lb")
    assert found.words == "Weakest link: coach's allowance, 4,850 lb."


@given(
    st.floats(500, 4000),
    st.lists(st.none() | st.floats(500, 5000), min_size=5, max_size=5),
)
def test_a_chain_passes_only_where_every_link_does(towed, ratings) -> None:
    found = judge_chain(towed, [Link(p, kg) for p, kg in zip(EXPECTED, ratings, strict=True)])
    known = [kg for kg in ratings if kg is not None]
    if any(kg < towed * (1 - 1e-8) for kg in known):
        assert found.verdict is Verdict.FAIL
    elif len(known) < 5:
        assert found.verdict is Verdict.UNKNOWN
    else:
        assert found.verdict is Verdict.PASS
    assert found.limit_kg == min(known, default=None)


# -- coach and cables ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ratings", "basis", "missing"),
    [
        ({"gcwr_kg": None, "gvwr_kg": 9000}, "worst", "GCWR and GVWR"),
        ({"gcwr_kg": 11000, "gvwr_kg": None}, "worst", "GCWR and GVWR"),
        ({"gcwr_kg": 11000, "gvwr_kg": 9000}, "scaled", "weigh the loaded coach"),
    ],
)
def test_an_allowance_without_its_figures_is_unknown(ratings, basis, missing) -> None:
    link = coach_allowance(**ratings).link(basis)
    assert link.rating_kg is None
    assert missing in link.measure


def test_a_coach_over_its_own_rating_is_told() -> None:
    found = coach_allowance(gcwr_kg=11000, gvwr_kg=9000, scaled_kg=9100)
    assert found.notes == ("The coach on the scale weighs more than its own GVWR.",)
    assert coach_allowance(gcwr_kg=11000, gvwr_kg=9000, scaled_kg=8900).notes == ()


@pytest.mark.parametrize("ratings", [[], [2000.0, None]])
def test_a_cable_without_a_rating_makes_the_pair_unknown(ratings) -> None:
    assert cables_link(ratings, basis=Basis.BREAKING).rating_kg is None
    assert "every safety cable" in cables_link(ratings, basis=Basis.BREAKING).measure


def test_cables_whose_number_nobody_understands_are_unknown() -> None:
    assert "from their maker" in cables_link([2000, 2000], basis=None).measure


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: coach_allowance(gcwr_kg=9000, gvwr_kg=9000), "GVWR"),
        (lambda: coach_allowance(gcwr_kg=9000, gvwr_kg=10000), "GVWR"),
        (
            lambda: coach_allowance(gcwr_kg=9000, gvwr_kg=8000, scaled_kg=9000),
            "scaled weight of the coach",
        ),
        (lambda: coach_allowance(gcwr_kg=0, gvwr_kg=None), "GCWR"),
        (lambda: coach_allowance(gcwr_kg=9000, gvwr_kg=1).link("best"), "basis of the allowance"),
        (lambda: Link(Part.RECEIVER, 0), "rating of the receiver"),
        (lambda: Link(Part.BRAKE_UNIT, 900, least_kg=1000), "range of the brake unit's range"),
        (lambda: cables_link([1], basis=None, rule="any"), "cable rule"),
        (lambda: cables_link([-1], basis=None), "cable rating"),
        (lambda: judge_chain(-1, []), "towed weight"),
        (lambda: towed_weight(0, Weighed.SCALED), "towed weight"),
        (lambda: least_breaking_lb(10001), "gross weight"),
        (lambda: bar_angle(900, 900), "tow bar rise"),
        (lambda: bar_angle(10, 0), "tow bar length"),
        (lambda: bar_level(10, 900, most_deg=0), "limit of the angle"),
        (lambda: bar_level(10, 900, most_rise_mm=0), "limit of the rise"),
        (lambda: lengths_in_order({"safety cables": 0}), "length of the safety cables"),
        (lambda: slack(straight_mm=-1, full_lock_mm=1, loop_mm=1), "slack"),
        (lambda: slack(straight_mm=1, full_lock_mm=-1, loop_mm=1), "need at full lock"),
        (lambda: slack(straight_mm=1, full_lock_mm=1, loop_mm=-1), "height of the loop"),
        (lambda: stop_distance(20, 0), "deceleration"),
        (lambda: braking(0, 1, coach_share=1, wanted_share=1), "coach's weight"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field


# -- geometry --------------------------------------------------------------------------


def test_the_angle_of_a_bar() -> None:
    assert bar_angle(450, 900).value == pytest.approx(30)
    assert bar_angle(-450, 900).value == pytest.approx(30)
    assert bar_level(450, 900, most_deg=30).verdict is Verdict.PASS
    assert bar_level(450, 900, most_deg=29.9).verdict is Verdict.FAIL


@pytest.mark.parametrize(("rise", "length"), [(None, 900), (50, None), (None, None)])
def test_a_bar_nobody_measured(rise, length) -> None:
    held = bar_level(rise, length)
    assert held.verdict is Verdict.UNKNOWN
    assert all(ask.startswith("measure the ") for ask in held.measure[:1])
    assert bar_level(rise, length, most_deg=5).verdict is Verdict.UNKNOWN


def test_a_length_that_is_missing_is_asked_for() -> None:
    found = lengths_in_order({"safety cables": 900, "umbilical cord": 1300})
    assert found.verdict is Verdict.UNKNOWN
    assert {ask for held in found.pairs for ask in held.measure} == {
        "measure the length of the breakaway lanyard"
    }
    worse = lengths_in_order({"breakaway lanyard": 1400, "umbilical cord": 1300})
    assert worse.verdict is Verdict.FAIL


def test_slack_nobody_measured() -> None:
    for held in slack(straight_mm=None, full_lock_mm=None, loop_mm=None):
        assert held.verdict is Verdict.UNKNOWN
        assert held.measure[0].startswith("measure")


# -- by hand ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("result", "reason", "verdict"),
    [
        (None, "", Verdict.UNKNOWN),
        (None, "always has been fine", Verdict.UNKNOWN),
        (Result.NOT_APPLICABLE, " ", Verdict.UNKNOWN),
        (Result.NOT_APPLICABLE, "no transfer case", Verdict.PASS),
        (Result.FAIL, "", Verdict.FAIL),
        (Result.PASS, "", Verdict.PASS),
    ],
)
def test_neutral_proved_in_r_and_d(result, reason, verdict) -> None:
    found, words = hand_check("neutral proved in R and D", result, reason)
    assert found is verdict
    assert words.startswith("neutral proved in R and D: ")


@pytest.mark.parametrize(
    ("assist", "setting", "verdict", "word"),
    [
        (on("assist", "assist"), Setting.UNASSISTED, Verdict.FAIL, "drag or lock"),
        (off("assist", "assist"), Setting.ASSISTED, Verdict.FAIL, "little braking"),
        (on("assist", "assist"), Setting.ASSISTED, Verdict.PASS, "fits"),
        (off("assist", "assist"), Setting.UNASSISTED, Verdict.PASS, "fits"),
        (unknown("assist", "assist"), Setting.ASSISTED, Verdict.UNKNOWN, "prove it"),
        (conditional("a", "a", ["x"]), Setting.ASSISTED, Verdict.UNKNOWN, "only while x"),
        (on("assist", "assist"), None, Verdict.UNKNOWN, "Read"),
    ],
)
def test_force_setting_against_pedal_assist(assist, setting, verdict, word) -> None:
    found, words = assist_match(assist, setting)
    assert found is verdict
    assert word in words
