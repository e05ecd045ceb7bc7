"""Batteries against published tables and worked examples; each source stands at its check."""

from __future__ import annotations

import pytest

from tests.factories.networks import battery
from vehicles.domain.bands import Band, Verdict
from vehicles.domain.battery import (
    charge_percent,
    exponent_from,
    hours_at,
    hours_band,
    needed_ah,
    stored_percent,
)
from vehicles.domain.battery_checks import hold_test, load_test, load_test_amps, pin_left_out
from vehicles.domain.circuit import Load, Network, solve
from vehicles.domain.endurance import Draw, Origin, breakaway_minutes, tow_hours
from vehicles.domain.limit_tables import (
    FLOODED,
    FLOODED_COACH,
    FLOODED_ROUNDED,
    LIFE,
    LOAD_TEST_OTHER,
    PEUKERT,
    SELF_DISCHARGE,
)

FULL = Band(100.0, 90.0, 100.0)


def rested(volts: float, table=FLOODED, meter: float = 0.0) -> Band:
    found = charge_percent(
        volts, chemistry="flooded", hours_rested=24, meter_share=meter, tables={"flooded": table}
    )
    assert isinstance(found, Band)
    return found


# -- charge from a rested voltage ------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "rows"),
    [
        (FLOODED, {12.65: 100, 12.45: 75, 12.24: 50, 12.06: 25, 11.89: 0}),
        (FLOODED_ROUNDED, {12.6: 100, 12.4: 75, 12.2: 50, 12.0: 25, 11.6: 0}),
        (FLOODED_COACH, {12.66: 100, 12.45: 75, 12.30: 50, 12.15: 25}),
    ],
)
def test_published_rows(table, rows) -> None:
    # A battery guide with specific gravities, a rounded list on a discussion page, a coach
    # owners' magazine: all read, and they disagree.
    for volts, percent in rows.items():
        assert rested(volts, table).value == pytest.approx(percent)


def test_between_two_rows() -> None:
    assert rested(12.30).value == pytest.approx(57.1, abs=0.05)
    assert rested(12.30, FLOODED_COACH).value == pytest.approx(50)  # the same reading


def test_a_meter_error_of_fifty_millivolts_is_six_percent_of_charge() -> None:
    # Checked with the uncertainties library: 12.45 V give or take 0.05 V is 75 % give or take 6.
    found = rested(12.45, meter=0.05 / 12.45)
    assert found.value == pytest.approx(75)
    assert found.low == pytest.approx(75 - 5.95, abs=0.01)  # 25 % over 0.21 V below
    assert found.high == pytest.approx(75 + 6.25, abs=0.01)  # 25 % over 0.20 V above


def test_a_one_percent_meter_spreads_over_thirty_percent_of_charge() -> None:
    # An article on battery voltages, read: about 80 mV for each 10 %, a 1 % meter is ±15 %.
    found = rested(12.24, meter=0.01)
    assert 25 < found.width < 35
    assert FLOODED.at(12.32) - FLOODED.at(12.24) == pytest.approx(10, abs=0.6)


def test_below_a_table_that_ends_above_empty_anything_is_possible() -> None:
    found = rested(12.0, FLOODED_COACH)
    assert (found.low, found.high) == (0, 25)


# -- load test -------------------------------------------------------------------------


@pytest.mark.parametrize(("at_c", "verdict"), [(10, Verdict.PASS), (20, Verdict.FAIL)])
def test_load_test_by_temperature(at_c: float, verdict: Verdict) -> None:
    # Handbooks of three vehicle makers, read: 9.4 V at 10 °C, 9.6 V at 20 °C, half the CCA, 15 s.
    held = load_test(9.45, at_c=at_c, seconds=15, charge_percent=FULL)
    assert held.verdict is verdict


@pytest.mark.parametrize(
    ("at_c", "volts"),
    [(-30, 8.5), (-18, 8.5), (-12, 8.7), (-7, 8.9), (-1, 9.1), (4, 9.3), (16, 9.5), (35, 9.6),
     (5, 9.4)],
)  # fmt: skip
def test_load_test_rows_and_the_warmer_row_between(at_c: float, volts: float) -> None:
    assert load_test(volts, at_c=at_c, seconds=15, charge_percent=FULL).verdict is Verdict.PASS
    below = load_test(volts - 0.01, at_c=at_c, seconds=15, charge_percent=FULL)
    assert below.verdict is Verdict.FAIL


def test_two_handbooks_disagree_in_the_cold() -> None:
    reading = {"at_c": -18, "seconds": 15, "charge_percent": FULL}
    assert load_test(8.2, **reading).verdict is Verdict.FAIL
    assert load_test(8.2, table=LOAD_TEST_OTHER, **reading).verdict is Verdict.PASS


def test_load_test_current() -> None:
    assert load_test_amps(cca=600) == 300
    assert load_test_amps(ah=7) == 21  # a breakaway battery has no CCA


# -- Peukert ---------------------------------------------------------------------------


@pytest.mark.parametrize("k", [1.0, 1.1, 1.2, 1.3, 1.6])
def test_at_its_rated_current_every_battery_gives_its_rated_hours(k: float) -> None:
    assert hours_at(5, ah=100, exponent=k) == pytest.approx(20)


def test_the_form_for_a_capacity_at_one_ampere_is_not_used() -> None:
    # A published page gives 14.5 h for 100 Ah at 5 A and k = 1.2: C/I^k, the wrong form here.
    wrong = 100 / 5**1.2
    assert wrong == pytest.approx(14.496, abs=5e-4)
    assert abs(hours_at(5, ah=100, exponent=1.2) - wrong) > 5


@pytest.mark.parametrize(("k", "hours"), [(1.2, 8.71), (1.25, 8.41), (1.41, 7.5)])
def test_twice_the_rated_current(k: float, hours: float) -> None:
    # Computed by hand from t = H·(C/(I·H))^k; "around 7.5 h" stands on a page without its k.
    assert hours_at(10, ah=100, exponent=k) == pytest.approx(hours, abs=0.03)


def test_exponent_of_two_ratings() -> None:
    assert exponent_from(100, 20, 93, 10) == pytest.approx(1.117, abs=5e-4)
    assert exponent_from(93, 10, 100, 20) == pytest.approx(1.117, abs=5e-4)


def test_a_table_that_does_not_follow_from_its_own_formula_is_not_followed() -> None:
    # 89 Ah at 10 A for k = 1.1 is printed on a page; its formula gives 93.3 Ah.
    assert 10 * hours_at(10, ah=100, exponent=1.1) == pytest.approx(93.3, abs=0.05)


def test_the_seen_ranges_of_the_exponent() -> None:
    # An article on Peukert's law, read.
    seen = {"flooded": (1.2, 1.6), "agm": (1.05, 1.15), "gel": (1.1, 1.25)}
    assert {name: (k.low, k.high) for name, k in PEUKERT.items()} == seen


@pytest.mark.parametrize(
    ("amps", "k", "ah"),
    [(12, 1.0, 3.0), (12, 1.1, 4.47), (12, 1.2, 6.23), (12, 1.3, 8.25),
     (6, 1.0, 1.5), (6, 1.1, 2.23), (6, 1.2, 3.11), (6, 1.3, 4.12)],
)  # fmt: skip
def test_capacity_for_fifteen_minutes(amps: float, k: float, ah: float) -> None:
    found = needed_ah(amps, 0.25, exponent=k)
    assert found == pytest.approx(ah, abs=0.006)
    assert hours_at(amps, ah=found, exponent=k) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("ah", "amps", "k", "minutes", "verdict"),
    [
        (5, 6, 1.1, 36.4, Verdict.PASS),
        (5, 6, 1.2, 26.5, Verdict.PASS),
        (5, 6, 1.3, 19.3, Verdict.PASS),
        (5, 12, 1.15, 14.0, Verdict.FAIL),
        (5, 12, 1.1, 17.0, Verdict.PASS),
        (7, 12, 1.2, 17.3, Verdict.PASS),
        (7, 12, 1.3, 12.1, Verdict.FAIL),
    ],
)
def test_minutes_of_a_breakaway_battery(ah, amps, k, minutes, verdict) -> None:
    # The 15 minutes: South Dakota 32-18-17 and D.C. 18 DCMR 721, read; both speak of trailers.
    held = breakaway_minutes(amps, ah=ah, exponent=k)
    assert held.value.value == pytest.approx(minutes, abs=0.06)
    assert held.verdict is verdict


def test_five_amp_hours_at_twelve_amps_hang_on_the_exponent() -> None:
    assert breakaway_minutes(12, ah=5).verdict is Verdict.CLOSE  # AGM, k from 1.05 to 1.15
    old = breakaway_minutes(12, ah=5, left=0.8)  # usual end of life, from memory
    assert old.value.value < 15 < old.value.high
    assert breakaway_minutes(12, ah=5, left=0.7).verdict is Verdict.FAIL


# -- holding, storage, life ------------------------------------------------------------


@pytest.mark.parametrize(
    ("minutes", "verdict"),
    [(11, Verdict.FAIL), (14 + 59 / 60, Verdict.FAIL), (15, Verdict.PASS), (None, Verdict.UNKNOWN)],
)
def test_fifteen_minutes_are_the_mark(minutes, verdict) -> None:
    assert hold_test(minutes).verdict is verdict


def test_a_green_lamp_is_no_load_test() -> None:
    # A caravan magazine and an owners' guide, read: the voltage button alone is weak evidence.
    held = hold_test(20, lamp_only=True)
    assert held.verdict is Verdict.UNKNOWN
    assert held.measure[0].startswith("not load-tested")


def test_self_discharge_over_a_winter() -> None:
    # An off-grid energy handbook, read: AGM 3 % and antimony 6 % a month at 20 °C, half at 10 °C.
    agm = stored_percent(6, at_c=20, per_month=SELF_DISCHARGE["agm"])
    assert (agm.low, agm.value) == (pytest.approx(82), pytest.approx(83.3, abs=0.05))
    flooded = stored_percent(6, at_c=20, per_month=SELF_DISCHARGE["flooded"])
    assert flooded.value == pytest.approx(69, abs=0.05)
    cold = stored_percent(6, at_c=10, per_month=SELF_DISCHARGE["agm"])
    assert cold.value == pytest.approx(91, abs=0.5)


@pytest.mark.parametrize(
    ("chemistry", "years"),
    [
        ("flooded", (5, 3.6, 2.5)),
        ("spiral", (10, 7, 5)),
        ("agm", (8, 6, 4)),
        ("gel", (5, 3.6, 2.5)),
    ],
)
def test_life_by_temperature(chemistry, years) -> None:
    # The same handbook: years at 20, 25 and 30 °C.
    assert tuple(LIFE[chemistry].at(at_c) for at_c in (20, 25, 30)) == years
    assert LIFE[chemistry].at(10) == years[0]  # cold storage is no promise of more


# -- the towed vehicle's battery -------------------------------------------------------


@pytest.mark.parametrize(("amps", "plain", "verdict"), [(3.0, 7.5, "pass"), (10, 2.25, "fail")])
def test_a_leg_of_six_hours_on_45_ah(amps, plain, verdict) -> None:
    # Owners' reports of 3 A and nearly 10 A in the tow state, on discussion pages, read.
    found = tow_hours([Draw("the car", amps, Origin.MEASURED)], ah=45, leg_h=6)
    assert found.plain_h == pytest.approx(plain)
    assert found.verdict == verdict
    assert found.held.value.high <= plain
    assert "Estimate from measured draw" in found.words
    assert "real batteries give less" in found.words


@pytest.mark.parametrize(("amps", "hours"), [(2.5, 12), (0.05, 25 * 24)])
def test_half_of_sixty_amp_hours(amps, hours) -> None:
    # Plain arithmetic: below the rated current Peukert's law promises nothing on top.
    found = hours_band(amps, ah=60)
    assert found.certain
    assert found.value / 2 == pytest.approx(hours)


def test_eight_hours_with_the_pin_out() -> None:
    # A column on vehicle wiring, read: about 12 A, 100 Ah gone in about 8 h, the switch can melt.
    found = pin_left_out(8)
    assert found.used_ah.value == pytest.approx(96)
    asked = " ".join(item.do for item in found.follow_up)
    assert "load-test" in asked
    assert "switch" in asked
    assert "released" in asked


@pytest.mark.parametrize(("ohms", "amps"), [(3.2, 3.94), (3.5, 3.60)])
def test_brake_magnets_draw_more_than_the_usual_three_amps(ohms: float, amps: float) -> None:
    # A parts dealer's answer page, read: coils of 3.2 to 3.5 Ω for 10 to 12 in brakes.
    magnet = Load("magnet", "plus", "minus", ohms=Band(ohms, ohms, ohms))
    found = solve(Network((battery(12.6, 1e-6),), loads=(magnet,)))
    assert found.amps["magnet"] == pytest.approx(amps, abs=0.006)
    assert found.amps["magnet"] > 3
