"""Batteries: what is unknown, what is refused, what overrides a sum, and what never improves."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.bands import Band, Unknown, Verdict
from vehicles.domain.battery import (
    age_held,
    age_years,
    charge_percent,
    exponent_from,
    hours_at,
    hours_band,
    months_until,
    needed_ah,
    stored_percent,
)
from vehicles.domain.battery_checks import (
    charge_line_check,
    hold_test,
    load_test,
    load_test_amps,
    pin_left_out,
)
from vehicles.domain.endurance import Draw, Origin, breakaway_minutes, tow_hours
from vehicles.domain.inputs import InputError
from vehicles.domain.limit_tables import LIFE, Curve

READ = {"chemistry": "flooded", "hours_rested": 10}
TODAY = date(2026, 3, 14)
CAR = Draw("the car", 3.0, Origin.MEASURED)


@pytest.mark.parametrize(
    ("volts", "change", "measure"),
    [
        (None, {}, "measure the battery's volts after 8 h of rest"),
        (12.4, {"chemistry": None}, "read on the battery whether it is flooded, AGM or gel"),
        (12.4, {"chemistry": "agm"}, "enter the voltage table of the agm battery's maker"),
        (12.4, {"hours_rested": None}, "note the hours since the battery was last charged"),
        (12.4, {"hours_rested": 2}, "measure again after 8 h of rest; 2 h show surface charge"),
    ],
)
def test_a_voltage_alone_is_no_charge(volts, change, measure) -> None:
    found = charge_percent(volts, **{**READ, **change})
    assert isinstance(found, Unknown)
    assert found.measure[0].startswith(measure)


@given(st.floats(11, 13.5), st.floats(0, 0.02))
def test_a_meters_error_only_widens(volts, error) -> None:
    exact = charge_percent(volts, meter_share=0, **READ)
    found = charge_percent(volts, meter_share=error, **READ)
    assert 0 <= found.low <= exact.value <= found.high <= 100


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: charge_percent(24.6, **READ), "volts"),
        (lambda: charge_percent(12.4, meter_share=-0.1, **READ), "meter error"),
        (lambda: charge_percent(12.4, chemistry="flooded", hours_rested=-1), "hours rested"),
        (lambda: hours_at(0, ah=10, exponent=1.2), "current"),
        (lambda: hours_at(1, ah=-10, exponent=1.2), "capacity"),
        (lambda: hours_at(1, ah=10, exponent=0.9), "exponent"),
        (lambda: hours_band(Band(1, -1, 2), ah=10), "current"),
        (lambda: needed_ah(1, 0, exponent=1.2), "hours"),
        (lambda: exponent_from(100, 20, 93, 20), "hours of a rating"),
        (lambda: exponent_from(90, 20, 93, 10), "capacity"),
        (lambda: stored_percent(-1, at_c=20, per_month=0.03), "months"),
        (lambda: stored_percent(1, at_c=20, per_month=0), "self-discharge"),
        (lambda: stored_percent(1, at_c=20, per_month=0.03, percent=101), "charge"),
        (lambda: stored_percent(1, at_c=-300, per_month=0.03), "storage"),
        (lambda: age_years(date(2026, 3, 15), today=TODAY), "date code"),
        (lambda: Draw("the unit", 1, duty=1.5), "duty of the unit"),
        (lambda: Draw("the unit", -1), "current of the unit"),
        (lambda: tow_hours([CAR], ah=0, leg_h=6), "capacity"),
        (lambda: tow_hours([CAR], ah=45, leg_h=6, usable=1.2), "usable share"),
        (lambda: tow_hours([CAR], ah=45, leg_h=6, charge_a=-1), "charging current"),
        (lambda: breakaway_minutes(6, ah=5, left=1.2), "share left"),
        (lambda: hold_test(-1), "minutes held"),
        (lambda: load_test_amps(cca=0), "CCA"),
        (lambda: pin_left_out(-1), "hours"),
        (lambda: Curve("c", "a table", ((1, 1),), "", "", ""), "a table"),
        (lambda: Curve("c", "a table", ((1, 1), (1, 2)), "", "", ""), "a table"),
        (lambda: Curve("c", "a table", ((1, 1), (2, math.nan)), "", "", ""), "a table"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field


@given(
    st.floats(0.1, 60), st.floats(2, 120), st.floats(1, 1.6), st.floats(0.01, 20), st.floats(0, 0.5)
)
def test_more_current_or_a_worse_battery_never_lasts_longer(amps, ah, k, more, worse) -> None:
    here = hours_at(amps, ah=ah, exponent=k)
    assert hours_at(amps + more, ah=ah, exponent=k) <= here
    assert hours_at(amps, ah=ah, exponent=k + worse) <= here * (1 + 1e-9)
    assert here <= ah / amps * (1 + 1e-9)  # never more than is in it
    assert needed_ah(amps, here, exponent=k) == pytest.approx(ah)


# -- hours in the tow state ------------------------------------------------------------


def test_an_unmeasured_draw_is_not_guessed() -> None:
    found = tow_hours([CAR, Draw("the brake unit", None)], ah=45, leg_h=6)
    assert found.verdict is Verdict.UNKNOWN
    assert found.held.measure == ("measure the current of the brake unit",)
    nothing = tow_hours([], ah=None, leg_h=6)
    assert nothing.held.measure == (
        "measure the current at the battery in the tow state",
        "read the battery's amp-hours",
    )


def test_a_leg_nobody_named_is_asked_for() -> None:
    assert tow_hours([CAR], ah=45, leg_h=None).held.measure == (
        "say how long the longest drive is",
    )


def test_a_battery_that_was_found_flat_overrides_the_sum() -> None:
    found = tow_hours([CAR], ah=450, leg_h=6, found_flat=True)
    assert found.verdict is Verdict.FAIL
    assert "found flat" in found.words


def test_brake_duty_counts_for_its_share_of_the_way() -> None:
    busy = Draw("the brake unit", 8.0, duty=0.25)
    assert tow_hours([CAR, busy], ah=45, leg_h=6).net_a.value == pytest.approx(5)
    listed = tow_hours([CAR, busy], ah=45, leg_h=6)
    assert "Estimate from measured and listed draw" in listed.words


def test_a_charge_line_counts_only_once_it_was_measured() -> None:
    covered = tow_hours([CAR], ah=45, leg_h=6, charge_a=4)
    assert covered.verdict is Verdict.PASS
    assert math.isinf(covered.held.value.value)
    assert "covers what is drawn" in covered.words
    unmeasured = tow_hours([CAR], ah=45, leg_h=6, charge_a=None)
    assert unmeasured.held.value == tow_hours([CAR], ah=45, leg_h=6).held.value
    assert "counts as nothing" in unmeasured.words
    doubtful = tow_hours([CAR], ah=45, leg_h=12, charge_a=Band(2.5, 1, 4))
    assert doubtful.verdict is Verdict.CLOSE


def test_a_charge_line_with_a_good_reading_and_a_weak_battery_is_no_pass() -> None:
    """13.5 V on the line, 12.1 V at rest, nothing measured while the pump starts."""
    found = charge_line_check(line_v=13.5, rest_v=12.1, loaded_v=None)
    assert found.verdict is Verdict.FAIL
    assert found.measure == ("measure the volts while the brake unit works",)
    assert [held.verdict.value for held in found.readings] == ["pass", "fail", "unknown"]
    rested = charge_line_check(line_v=13.5, rest_v=12.6, loaded_v=None)
    assert rested.verdict is Verdict.UNKNOWN
    assert charge_line_check(line_v=13.5, rest_v=12.6, loaded_v=12.0).verdict is Verdict.PASS


# -- tests and age ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "measure"),
    [
        ({"volts": None}, "measure the volts at the end of the load test"),
        ({"at_c": None}, "measure the battery's temperature"),
        ({"seconds": None}, "keep the load on for 15 s"),
        ({"seconds": 14}, "keep the load on for 15 s"),
        ({"charge_percent": None}, "find its charge first"),
        ({"charge_percent": Unknown(())}, "find its charge first"),
        ({"charge_percent": Band(60, 50, 70)}, "charge it to 75 % first, then test"),
    ],
)
def test_a_load_test_that_was_not_done_properly_is_none(change, measure) -> None:
    done = {"volts": 9.8, "at_c": 20, "seconds": 15, "charge_percent": Band(90, 80, 100)}
    assert load_test(**done).verdict is Verdict.PASS
    found = load_test(**{**done, **change})
    assert found.verdict is Verdict.UNKNOWN
    assert found.measure == (measure,)


def test_a_load_test_within_the_meters_error_is_too_close() -> None:
    done = {"at_c": 20, "seconds": 15, "charge_percent": Band(90, 80, 100), "meter_share": 0.01}
    assert load_test(9.65, **done).verdict is Verdict.CLOSE


def test_without_amp_hours_or_cca_there_is_no_test_current() -> None:
    assert isinstance(load_test_amps(), Unknown)


def test_a_pin_left_out_for_nobody_knows_how_long() -> None:
    found = pin_left_out(None)
    assert found.used_ah is None
    assert "unknown time" in found.follow_up[0].why
    assert len(found.follow_up) == len(pin_left_out(8).follow_up)


@pytest.mark.parametrize(
    ("amps", "ah", "measure"),
    [
        (None, 5, "measure the brake's current while it holds"),
        (6, None, "read the breakaway battery's amp-hours"),
    ],
)
def test_minutes_of_holding_need_current_and_capacity(amps, ah, measure) -> None:
    assert breakaway_minutes(amps, ah=ah).measure == (measure,)


def test_age_from_the_date_code() -> None:
    assert age_years(date(2021, 3, 14), today=TODAY) == pytest.approx(5, abs=0.01)
    old = age_held(date(2021, 3, 1), today=TODAY, life=LIFE["agm"], at_c=None)
    assert old.verdict is Verdict.FAIL  # 4 years where it may have been warm
    cool = age_held(date(2021, 3, 1), today=TODAY, life=LIFE["agm"], at_c=20)
    assert cool.verdict is Verdict.PASS
    unmarked = age_held(None, today=TODAY, life=LIFE["agm"], at_c=20)
    assert unmarked.measure == ("read the battery's date code",)


@given(st.floats(0, 12), st.floats(-20, 40), st.floats(0.005, 0.15), st.floats(0, 100))
def test_storage_never_charges_a_battery(months, at_c, rate, start) -> None:
    left = stored_percent(months, at_c=at_c, per_month=rate, percent=start)
    assert 0 <= left.low <= left.value <= start
    warmer = stored_percent(months, at_c=at_c + 10, per_month=rate, percent=start)
    assert warmer.value <= left.value


def test_the_reminder_comes_before_the_charge_is_gone() -> None:
    months = months_until(80, at_c=20, per_month=0.03)
    assert months == pytest.approx(6.67, abs=0.01)
    assert stored_percent(months, at_c=20, per_month=0.03).low == pytest.approx(80)
    assert months_until(80, at_c=20, per_month=0.03, start=70) == 0
