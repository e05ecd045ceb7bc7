"""Due dates, days of contact and the words for a silence, as a table."""

from datetime import date

import pytest

from shop.reminders.domain.plan import (
    Contact,
    Look,
    Terms,
    next_contact,
    plan_by_date_code,
    plan_by_event,
    plan_by_months,
    rule_sentence,
)

YEARLY = Terms("months", 12, None, False, lead_days=30, repeat_days=21, mails_max=4)
FIXED = Terms("months", 12, None, True, lead_days=30, repeat_days=21, mails_max=4)
FITTED = date(2025, 3, 1)


def months(terms: Terms, *looks: Look, fitted: date = FITTED):
    return plan_by_months(terms, fitting_id=12, fitted_on=fitted, looks=looks)


def test_counts_from_the_fitting_first():
    planned = months(YEARLY)
    assert (planned.key, planned.due_on) == ("fitted:12", date(2026, 3, 1))
    assert planned.reason == "12 months after it was first fitted on 1 March 2025"


@pytest.mark.parametrize(
    ("terms", "done", "due"),
    [
        # Done early or late: the next date counts from the day it was done (common practice,
        # no source), except where the rule keeps the day of the year.
        (YEARLY, date(2026, 2, 10), date(2027, 2, 10)),
        (YEARLY, date(2026, 5, 20), date(2027, 5, 20)),
        (FIXED, date(2026, 2, 10), date(2027, 3, 1)),
        (FIXED, date(2026, 5, 20), date(2027, 3, 1)),
        # Two years late: the turns that were missed do not pile up.
        (FIXED, date(2028, 4, 1), date(2029, 3, 1)),
        # Before the first mail of a turn: that would stretch the gap beyond the interval.
        (FIXED, date(2025, 9, 1), date(2026, 3, 1)),
    ],
)
def test_done_early_or_late(terms, done, due):
    planned = months(terms, Look(33, done))
    assert planned.due_on == due
    assert planned.key == ("fitted:12" if done == date(2025, 9, 1) else "inspection:33")


def test_the_last_look_counts_whatever_the_order():
    planned = months(YEARLY, Look(2, date(2027, 1, 1)), Look(1, date(2026, 1, 1)))
    assert (planned.key, planned.due_on) == ("inspection:2", date(2028, 1, 1))


def test_a_look_from_before_the_fitting_counts_because_the_part_ages_on_the_shelf_too():
    planned = months(YEARLY, Look(1, date(2025, 2, 1)))
    assert (planned.key, planned.due_on) == ("inspection:1", date(2026, 2, 1))


def test_a_fixed_day_of_the_year_is_that_of_the_first_fitting_whatever_was_looked_at_before():
    planned = months(FIXED, Look(1, date(2025, 2, 1)))
    assert (planned.key, planned.due_on) == ("fitted:12", date(2026, 3, 1))


def test_month_end_is_clamped_and_never_drifts():
    monthly = Terms("months", 1, None, True, lead_days=0, repeat_days=7, mails_max=4)
    looks: list[Look] = []
    dues = []
    for turn in range(5):
        planned = months(monthly, *looks, fitted=date(2024, 1, 31))
        dues.append(planned.due_on)
        looks.append(Look(turn, planned.due_on))
    assert dues == [
        date(2024, 2, 29),
        date(2024, 3, 31),
        date(2024, 4, 30),
        date(2024, 5, 31),
        date(2024, 6, 30),
    ]


def test_a_date_code_counts_from_the_making_and_admits_when_it_is_unknown():
    terms = Terms("date_code", None, 4, False, 60, 30, 3)
    known = plan_by_date_code(terms, fitting_id=12, fitted_on=FITTED, date_code=date(2024, 2, 29))
    assert (known.key, known.due_on) == ("date_code:12", date(2028, 2, 29))
    unknown = plan_by_date_code(terms, fitting_id=12, fitted_on=FITTED, date_code=None)
    assert (unknown.key, unknown.due_on) == ("date_code:12", date(2029, 3, 1))
    assert "not recorded, so it may be older" in unknown.reason


def test_an_event_is_due_on_its_day():
    planned = plan_by_event(reverification_id=5, opened_on=FITTED, cause="a part was moved")
    assert (planned.key, planned.due_on) == ("reverify:5", FITTED)
    assert planned.reason == "a part was moved (1 March 2025)"


DUE = date(2026, 5, 1)


@pytest.mark.parametrize(
    ("given", "contact"),
    [
        ({"today": date(2026, 1, 1)}, Contact(date(2026, 4, 1))),
        ({"today": date(2026, 4, 20)}, Contact(date(2026, 4, 20))),
        (
            {"today": date(2026, 4, 2), "mails": 1, "last_mail_on": date(2026, 4, 1)},
            Contact(date(2026, 4, 22)),
        ),
        (
            {"today": date(2026, 7, 1), "mails": 4, "last_mail_on": date(2026, 6, 1)},
            Contact(None, "Said 4 times by mail; the desk phones now."),
        ),
        (
            {"today": date(2026, 4, 1), "unreachable": "No mail: no e-mail address on file."},
            Contact(None, "No mail: no e-mail address on file."),
        ),
        (
            {"today": date(2026, 4, 1), "booked_for": date(2026, 5, 12)},
            Contact(date(2026, 5, 13), "Booked for 12 May 2026."),
        ),
        (
            {"today": date(2026, 4, 1), "snoozed_until": date(2026, 5, 15)},
            Contact(date(2026, 5, 15), "Put off until 15 May 2026."),
        ),
        # The date moved out after a mail: silence until it comes near again.
        (
            {"today": date(2026, 1, 1), "mails": 1, "last_mail_on": date(2025, 6, 1)},
            Contact(date(2026, 4, 1)),
        ),
    ],
)
def test_next_contact(given, contact):
    given = {"mails": 0, "last_mail_on": None, **given}
    assert next_contact(YEARLY, due_on=DUE, **given) == contact


def test_a_rule_reads_as_a_sentence():
    assert rule_sentence(YEARLY, part="Breakaway battery", check="load test") == (
        "Breakaway battery: load test every 12 months from the last time, or from its first "
        "fitting where there was none; first mail 30 days before, then every 3 weeks, at most 4; "
        "after that the desk phones."
    )
    event = Terms("event", None, None, False, 0, 14, 3)
    assert rule_sentence(event, part="", check="") == (
        "Vehicle: prove it again whenever the proof no longer stands; first mail at once, then "
        "every 2 weeks, at most 3; after that the desk phones."
    )
