"""The chain put together from records: what is there, what is missing, what contradicts."""

from dataclasses import replace

from installs.domain.tow_chain import BallMount, Coach, Combined, RatedPart, Towed, combine
from vehicles.domain.bands import Verdict
from vehicles.domain.ratings import Basis, Part

LB = 0.45359237
COACH = Coach(
    gcwr_kg=26_000 * LB, gvwr_kg=20_000 * LB, scaled_kg=18_500 * LB, receiver_kg=5_000 * LB
)
CAR = Towed(scaled_kg=4_000 * LB, gvwr_kg=4_900 * LB)
NO_MOUNT = BallMount(there=False)
PARTS = [
    RatedPart(Part.TOW_BAR, "", 6_500 * LB),
    RatedPart(Part.BASE_PLATE, "", 5_000 * LB),
    RatedPart(Part.SAFETY_CABLES, "", 6_000 * LB, basis=Basis.BREAKING),
]


def verdicts(found: Combined) -> dict[Part, Verdict]:
    return {link.part: held.verdict for link, held in found.chain.links}


def test_a_whole_chain_passes_and_names_its_weakest() -> None:
    found = combine(COACH, CAR, NO_MOUNT, PARTS)
    assert found.chain.verdict is Verdict.PASS
    assert found.chain.weakest.part is Part.RECEIVER
    assert found.weighed == "scale ticket, loaded"
    assert Part.BALL_MOUNT not in verdicts(found)


def test_nobody_looked_for_a_ball_mount_so_there_may_be_one() -> None:
    found = combine(COACH, CAR, BallMount(), PARTS)
    assert found.chain.verdict is Verdict.UNKNOWN
    assert [link.measure for link in found.chain.missing] == [
        "look whether a ball mount or drop lies between receiver and bar"
    ]


def test_a_ball_mount_without_a_rating_is_unknown_and_a_weak_one_decides() -> None:
    assert verdicts(combine(COACH, CAR, BallMount(there=True), PARTS))[Part.BALL_MOUNT] is (
        Verdict.UNKNOWN
    )
    weak = combine(COACH, CAR, BallMount(there=True, rating_kg=3_500 * LB), PARTS)
    assert weak.chain.verdict is Verdict.FAIL
    assert weak.chain.weakest.part is Part.BALL_MOUNT


def test_what_is_not_fitted_in_the_records_is_unknown_never_endless() -> None:
    found = combine(COACH, CAR, NO_MOUNT, [])
    assert found.chain.verdict is Verdict.UNKNOWN
    missing = {link.part for link in found.chain.missing}
    assert missing == {Part.TOW_BAR, Part.BASE_PLATE, Part.SAFETY_CABLES}
    assert all(link.measure for link in found.chain.missing)


def test_cables_of_which_nobody_knows_what_the_number_means_are_unknown() -> None:
    cables = [replace(PARTS[2], basis=None)]
    found = combine(COACH, CAR, NO_MOUNT, [*PARTS[:2], *cables])
    assert verdicts(found)[Part.SAFETY_CABLES] is Verdict.UNKNOWN
    one_of_each = [PARTS[2], replace(PARTS[2], basis=Basis.WORKING)]
    found = combine(COACH, CAR, NO_MOUNT, [*PARTS[:2], *one_of_each])
    assert verdicts(found)[Part.SAFETY_CABLES] is Verdict.UNKNOWN


def test_two_cables_count_each_for_itself_unless_the_shop_says_otherwise() -> None:
    pair = [RatedPart(Part.SAFETY_CABLES, "", 3_000 * LB, basis=Basis.BREAKING)] * 2
    each = combine(COACH, CAR, NO_MOUNT, [*PARTS[:2], *pair])
    assert verdicts(each)[Part.SAFETY_CABLES] is Verdict.FAIL
    both = combine(COACH, CAR, NO_MOUNT, [*PARTS[:2], *pair], rule="combined")
    assert verdicts(both)[Part.SAFETY_CABLES] is Verdict.PASS


def test_ratings_that_contradict_each_other_are_told_and_give_no_allowance() -> None:
    found = combine(replace(COACH, gvwr_kg=27_000 * LB), CAR, NO_MOUNT, PARTS)
    assert verdicts(found)[Part.COACH_ALLOWANCE] is Verdict.UNKNOWN
    assert "not below the GCWR" in found.notes[0]


def test_without_a_ticket_the_gvwr_stands_in_and_without_both_nothing_holds() -> None:
    assert combine(COACH, Towed(gvwr_kg=4_900 * LB), NO_MOUNT, PARTS).weighed.startswith("its GVWR")
    nothing = combine(COACH, Towed(), NO_MOUNT, PARTS)
    assert nothing.chain.towed is None
    assert set(verdicts(nothing).values()) == {Verdict.UNKNOWN}


def test_a_brake_unit_is_a_link_only_where_one_is_fitted() -> None:
    assert Part.BRAKE_UNIT not in verdicts(combine(COACH, CAR, NO_MOUNT, PARTS))
    heavy = RatedPart(Part.BRAKE_UNIT, "", 8_000 * LB, least_kg=4_500 * LB)
    found = combine(COACH, CAR, NO_MOUNT, [*PARTS, heavy])
    assert verdicts(found)[Part.BRAKE_UNIT] is Verdict.FAIL


def test_the_error_of_the_scale_is_the_shops() -> None:
    close = Towed(scaled_kg=4_990 * LB)
    assert combine(COACH, close, NO_MOUNT, PARTS).chain.verdict is Verdict.CLOSE
    exact = combine(COACH, close, NO_MOUNT, PARTS, scale_share=0.0)
    assert exact.chain.verdict is Verdict.PASS
