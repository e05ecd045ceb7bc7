"""A bad look makes its part due at once, in one item, until the next good one."""

from datetime import date

import pytest

from installs.models import ComponentKind, Fitting, Inspection
from shop.people.models import Category
from shop.reminders.models import DueItem, Reminder
from shop.reminders.services import refresh_due
from tests.factories.installs import FittingFactory, InspectionFactory
from tests.factories.reminders import Case, RuleFactory, a_case

pytestmark = pytest.mark.django_db
BEFORE, BAD, CURED = date(2026, 2, 1), date(2026, 2, 10), date(2026, 2, 20)


def looked(case: Case, on: date, result: str = "passed") -> Inspection:
    look: Inspection = InspectionFactory(fitting=case.fitting, done_on=on, result=result)
    case.refresh(on)
    return look


def a_case_with_an_item(**rule: object) -> Case:
    RuleFactory(**rule)
    case = a_case()
    case.refresh(BEFORE)
    return case


@pytest.mark.parametrize(
    ("result", "came"),
    [
        ("stiff", "was stiff"),
        ("weak", "was weak"),
        ("nothing", "did nothing"),
        ("failed", "failed"),
    ],
)
def test_it_is_due_on_the_day_of_the_look(result: str, came: str) -> None:
    case = a_case_with_an_item()
    first = case.item
    look = looked(case, BAD, result)
    item = case.item
    assert (item.anchor_key, item.due_on) == (f"failed:{look.pk}", BAD)
    assert item.contact_on == BAD
    assert item.reason == f"{came} when looked at on 10 February 2026; cure it and look again"
    first.refresh_from_db()
    assert (first.state, first.closed_on) == ("withdrawn", BAD)
    told = f"The part {came} on 10 February 2026 and is due at once instead."
    assert first.silence == told
    assert list(DueItem.objects.open()) == [item]


def test_the_next_good_look_closes_it_and_the_next_date_counts_from_there() -> None:
    case = a_case_with_an_item()
    looked(case, BAD, "nothing")
    bad = case.item
    cure = looked(case, CURED)
    bad.refresh_from_db()
    assert (bad.state, bad.closed_on) == ("done", CURED)
    assert bad.silence == "Good when looked at on 20 February 2026."
    assert (case.item.anchor_key, case.item.due_on) == (
        f"inspection:{cure.pk}",
        date(2027, 2, 20),
    )


def test_a_second_bad_look_is_the_same_trouble_and_starts_no_count_afresh() -> None:
    case = a_case_with_an_item()
    first = looked(case, BAD, "stiff")
    item = case.item
    Reminder.objects.create(item=item, nth=1, on=BAD)
    DueItem.objects.filter(pk=item.pk).update(mails_sent=1)
    looked(case, date(2026, 2, 15), "nothing")
    assert case.item.pk == item.pk
    assert (case.item.anchor_key, case.item.mails_sent) == (f"failed:{first.pk}", 1)
    assert case.item.due_on == BAD
    assert case.item.contact_on == date(2026, 3, 3)
    assert case.item.reason == (
        "did nothing when looked at on 15 February 2026, first on 10 February 2026; "
        "cure it and look again"
    )


def test_a_trouble_that_comes_back_after_its_cure_is_a_new_one() -> None:
    case = a_case_with_an_item()
    looked(case, BAD, "stiff")
    looked(case, CURED)
    again = looked(case, date(2026, 6, 1), "failed")
    assert case.item.anchor_key == f"failed:{again.pk}"
    assert DueItem.objects.filter(anchor_key__startswith="failed:", state="done").count() == 1


def test_with_a_fixed_day_of_the_year_the_turn_waits_and_comes_back() -> None:
    """Cured long before the anniversary: the turn stands as it did, on the same row."""
    case = a_case_with_an_item(count_from="fixed")
    turn = case.item
    looked(case, date(2025, 9, 1), "failed")
    bad = case.item
    assert bad.due_on == date(2025, 9, 1)
    looked(case, date(2025, 9, 8))
    bad.refresh_from_db()
    assert (bad.state, bad.closed_on) == ("done", date(2025, 9, 8))
    assert case.item == turn
    assert (case.item.due_on, case.item.silence) == (date(2026, 3, 1), "")


def test_with_a_fixed_day_a_cure_within_the_lead_counts_for_the_turn() -> None:
    case = a_case_with_an_item(count_from="fixed")
    looked(case, BAD, "failed")
    looked(case, CURED)
    assert case.item.due_on == date(2027, 3, 1)


def test_good_and_bad_entered_together_tell_the_truth_of_both() -> None:
    case = a_case_with_an_item()
    first = case.item
    InspectionFactory(fitting=case.fitting, done_on=BAD)
    bad = InspectionFactory(fitting=case.fitting, done_on=CURED, result="weak")
    case.refresh(CURED)
    first.refresh_from_db()
    assert (first.state, first.silence) == ("done", "Done on 10 February 2026.")
    assert case.item.anchor_key == f"failed:{bad.pk}"


def test_a_corrected_look_is_followed() -> None:
    case = a_case_with_an_item()
    first = case.item
    look = looked(case, BAD, "failed")
    bad = case.item
    Inspection.objects.filter(pk=look.pk).update(result="not_tested")
    case.refresh(CURED)
    bad.refresh_from_db()
    assert (bad.state, bad.silence) == (
        "withdrawn",
        "The look of 10 February 2026 no longer stands as it was recorded.",
    )
    assert case.item == first
    Inspection.objects.filter(pk=look.pk).update(result="passed")
    case.refresh(CURED)
    assert case.item.anchor_key == f"inspection:{look.pk}"


def test_the_trouble_goes_along_with_the_part_and_not_with_the_vehicle() -> None:
    case = a_case_with_an_item()
    look = looked(case, BAD, "failed")
    Fitting.objects.filter(pk=case.fitting.pk).update(until=CURED)
    moved = FittingFactory(component=case.fitting.component, since=CURED)
    fresh = FittingFactory(vehicle=case.vehicle, since=CURED)
    refresh_due(vehicle_ids=[case.vehicle.pk, moved.vehicle_id], today=CURED)
    assert DueItem.objects.open().get(fitting=moved).anchor_key == f"failed:{look.pk}"
    assert DueItem.objects.open().get(fitting=fresh).due_on == date(2027, 2, 20)


@pytest.mark.parametrize(
    ("duty", "result", "category"),
    [
        ("breakaway", "nothing", Category.SAFETY),
        # Nobody said what hangs on it: it is taken for something that braking hangs on.
        ("", "failed", Category.SAFETY),
        ("breakaway", "weak", Category.SERVICE),
        ("other", "failed", Category.SERVICE),
    ],
)
def test_what_forbids_towing_is_a_safety_notice(duty: str, result: str, category: str) -> None:
    case = a_case_with_an_item(risk=1)
    ComponentKind.objects.update(duty=duty)
    looked(case, BAD, result)
    assert case.item.category == category
    assert case.item.risk == (3 if category == Category.SAFETY else 1)


def test_it_stands_among_the_overdue_on_its_very_day() -> None:
    case = a_case_with_an_item()
    looked(case, BAD, "stiff")
    assert list(DueItem.objects.overdue(BAD)) == [case.item]
