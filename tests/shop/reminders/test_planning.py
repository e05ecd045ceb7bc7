"""Due items follow rules, fittings, inspections, proofs and owners."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext

from installs.models import Fitting, Inspection, Reverification
from shop.people.models import Consent, EmailAddress, Ownership
from shop.reminders.models import DueItem, Reminder, ServiceRuleVersion
from shop.reminders.services import (
    refresh_all,
    refresh_customer,
    refresh_due,
    save_rule,
)
from tests.factories.installs import (
    CheckFactory,
    FittingFactory,
    InspectionFactory,
    KindFactory,
    ReverificationFactory,
)
from tests.factories.people import CustomerFactory, EmailFactory, OwnershipFactory
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory, a_case
from vehicles.models import Event
from vehicles.records import Actor, Clash

pytestmark = pytest.mark.django_db
TODAY = date(2025, 6, 1)
OWNER = Actor("Owner")


def test_an_item_is_made_with_its_dates_and_its_owner():
    rule, case = RuleFactory(risk=3), a_case()
    case.refresh(TODAY)
    item = case.item
    assert (item.anchor_key, item.due_on) == (f"fitted:{case.fitting.pk}", date(2026, 3, 1))
    assert item.contact_on == date(2026, 1, 30)
    assert (item.customer, item.risk, item.rule_version) == (case.customer, 3, rule.version)
    assert item.silence == ""


def test_twice_changes_nothing():
    RuleFactory()
    case = a_case()
    case.refresh(TODAY)
    before = list(DueItem.objects.values())
    case.refresh(TODAY)
    assert list(DueItem.objects.values()) == before


def test_a_good_inspection_closes_it_and_opens_the_next():
    RuleFactory()
    case = a_case()
    case.refresh(TODAY)
    first = case.item
    look = InspectionFactory(fitting=case.fitting, done_on=date(2026, 2, 10))
    case.refresh(date(2026, 2, 10))
    first.refresh_from_db()
    assert (first.state, first.closed_on) == ("done", date(2026, 2, 10))
    assert (first.contact_on, first.silence) == (None, "Done on 10 February 2026.")
    assert (case.item.anchor_key, case.item.due_on) == (
        f"inspection:{look.pk}",
        date(2027, 2, 10),
    )


def test_a_look_that_tested_nothing_neither_satisfies_nor_accuses():
    RuleFactory()
    case = a_case()
    InspectionFactory(fitting=case.fitting, done_on=date(2026, 2, 10), result="not_tested")
    case.refresh(date(2026, 2, 10))
    assert case.item.anchor_key == f"fitted:{case.fitting.pk}"
    assert case.item.due_on == date(2026, 3, 1)


def test_another_check_satisfies_nothing():
    RuleFactory()
    case = a_case()
    other = CheckFactory(slug="look", name="Look")
    InspectionFactory(fitting=case.fitting, done_on=date(2026, 2, 10), check_done=other)
    case.refresh(date(2026, 2, 10))
    assert case.item.due_on == date(2026, 3, 1)


def test_skipped_for_years_it_is_still_one_overdue_item():
    RuleFactory()
    case = a_case()
    case.refresh(date(2029, 1, 1))
    assert DueItem.objects.count() == 1
    assert list(DueItem.objects.overdue(date(2029, 1, 1))) == [case.item]


def test_a_struck_inspection_opens_the_old_item_again():
    RuleFactory()
    case = a_case()
    case.refresh(TODAY)
    first = case.item
    look = InspectionFactory(fitting=case.fitting, done_on=date(2026, 2, 10))
    case.refresh(date(2026, 2, 11))
    look.result = Inspection.Result.NOT_TESTED
    look.save()
    case.refresh(date(2026, 2, 12))
    assert case.item == first
    assert DueItem.objects.exclude(pk=first.pk).get().state == "withdrawn"


def test_a_part_taken_out_withdraws_it():
    RuleFactory()
    case = a_case()
    case.refresh(TODAY)
    Fitting.objects.update(until=date(2025, 7, 1))
    case.refresh(date(2025, 7, 1))
    item = DueItem.objects.get()
    assert (item.state, item.silence) == ("withdrawn", "The part is no longer on the vehicle.")


def moved(fitting: Fitting, on: date) -> Fitting:
    Fitting.objects.filter(pk=fitting.pk).update(until=on)
    return FittingFactory(component=fitting.component, since=on)


def test_a_unit_swapped_every_half_year_still_falls_due_after_twelve_months():
    """A family changes one unit between two cars in spring and autumn, and nobody ever looks."""
    RuleFactory()
    fitting = a_case().fitting
    for turn in range(6):
        fitting = moved(fitting, date(2025 + (turn + 1) // 2, 3 if turn % 2 else 9, 1))
        refresh_due(vehicle_ids=[fitting.vehicle_id], today=fitting.since)
    assert fitting.since == date(2028, 3, 1)
    item = DueItem.objects.get(fitting=fitting)
    assert (item.due_on, item.contact_on) == (date(2026, 3, 1), None)
    assert item.reason == "12 months after it was first fitted on 1 March 2025"
    refresh_all(today=date(2028, 3, 1))
    assert DueItem.objects.open().get() == item


def test_a_look_at_the_part_on_another_car_counts():
    RuleFactory()
    first = a_case().fitting
    look = InspectionFactory(fitting=first, done_on=date(2025, 8, 1))
    second = moved(first, date(2026, 6, 1))
    refresh_due(vehicle_ids=[first.vehicle_id, second.vehicle_id], today=date(2026, 6, 1))
    item = DueItem.objects.open().get()
    assert (item.fitting, item.anchor_key) == (second, f"inspection:{look.pk}")
    assert item.due_on == date(2026, 8, 1)


def test_a_part_without_a_date_code_ages_from_its_first_fitting():
    RuleFactory(trigger="date_code", months=None, years=4, check_asked=None)
    first = a_case().fitting
    second = moved(first, date(2027, 6, 1))
    refresh_all(today=date(2027, 6, 1))
    item = DueItem.objects.open().get()
    assert (item.fitting, item.due_on) == (second, date(2029, 3, 1))


def test_a_corrected_date_moves_the_same_row():
    RuleFactory(trigger="date_code", months=None, years=4, check_asked=None)
    case = a_case()
    case.refresh(TODAY)
    item = case.item
    assert "may be older" in item.reason
    component = case.fitting.component
    component.date_code = date(2022, 9, 1)
    component.save()
    case.refresh(TODAY)
    assert (case.item.pk, case.item.due_on) == (item.pk, date(2026, 9, 1))
    assert case.item.reason == "4 years after the date code, 1 September 2022"


def test_a_sold_vehicle_is_silent_and_a_new_owner_starts_afresh():
    RuleFactory(mails_max=2)
    case = a_case()
    case.refresh(TODAY)
    item = case.item
    for nth in (1, 2):
        Reminder.objects.create(item=item, nth=nth, on=date(2026, 2, nth))
    DueItem.objects.update(mails_sent=2)
    Ownership.objects.update(until=date(2026, 3, 5))
    case.refresh(date(2026, 3, 5))
    assert (case.item.customer, case.item.contact_on) == (None, None)
    assert case.item.silence == "No mail: nobody owns the vehicle in our records."
    email = EmailFactory()
    OwnershipFactory(customer=email.customer, vehicle=case.vehicle)
    case.refresh(date(2026, 4, 1))
    assert (case.item.customer, case.item.mails_before) == (email.customer, 2)
    assert case.item.contact_on == date(2026, 4, 1)


def test_a_reverification_is_due_at_once_and_done_when_proven():
    ReverifyRuleFactory()
    case = a_case()
    proof = ReverificationFactory(vehicle=case.vehicle, opened_on=date(2026, 3, 1))
    case.refresh(date(2026, 3, 1))
    item = case.item
    assert (item.anchor_key, item.fitting, item.category) == (
        f"reverify:{proof.pk}",
        None,
        "safety",
    )
    assert (item.due_on, item.contact_on) == (date(2026, 3, 1), date(2026, 3, 1))
    Reverification.objects.update(state="done", closed_on=date(2026, 3, 9))
    case.refresh(date(2026, 3, 9))
    item.refresh_from_db()
    assert (item.state, item.silence) == ("done", "Proven on 9 March 2026.")


def test_a_withdrawn_reverification_withdraws_it():
    ReverifyRuleFactory()
    case = a_case()
    ReverificationFactory(vehicle=case.vehicle)
    case.refresh(date(2026, 3, 1))
    Reverification.objects.update(state="withdrawn", closed_on=date(2026, 3, 2))
    case.refresh(date(2026, 3, 2))
    assert DueItem.objects.get().state == "withdrawn"


def test_why_nobody_can_be_written_to():
    RuleFactory()
    case = a_case(email=None)
    case.refresh(TODAY)
    assert case.item.silence == "No mail: no e-mail address on file."
    row = EmailFactory(customer=case.customer, address="w@mail.example")
    refresh_customer(customer_id=case.customer.pk, today=TODAY)
    assert (case.item.silence, case.item.contact_on) == ("", date(2026, 1, 30))
    EmailAddress.objects.filter(pk=row.pk).update(broken_since=date(2025, 5, 3))
    refresh_customer(customer_id=case.customer.pk, today=TODAY)
    assert case.item.silence == "No mail: w@mail.example has not worked since 3 May 2025."
    EmailFactory(customer=case.customer, address="second@mail.example")
    refresh_customer(customer_id=case.customer.pk, today=TODAY)
    assert case.item.silence == ""
    Consent.objects.create(
        customer=case.customer, category="service", allowed=False, how="by phone"
    )
    refresh_customer(customer_id=case.customer.pk, today=TODAY)
    assert case.item.silence.startswith("No mail: service reminders declined on ")


def test_the_cost_does_not_grow_with_the_vehicles():
    RuleFactory()
    ReverifyRuleFactory()

    def queries(cases) -> int:
        ids = [case.vehicle.pk for case in cases]
        with CaptureQueriesContext(connection) as caught:
            refresh_due(vehicle_ids=ids, today=TODAY)
        return len(caught)

    cases = [a_case() for _ in range(9)]
    assert queries(cases[:1]) == queries(cases[1:]) <= 16


def test_saving_a_rule_keeps_the_version_and_moves_its_items():
    case = a_case()
    rule = save_rule(fields=rule_fields(), today=TODAY, actor=OWNER)
    assert case.item.due_on == date(2026, 3, 1)
    saved = save_rule(
        rule=rule,
        version=rule.version,
        fields={"months": 6, "lead_days": 14},
        today=TODAY,
        actor=OWNER,
        why="the batteries of this lot age fast",
    )
    assert (case.item.due_on, case.item.rule_version) == (date(2025, 9, 1), saved.version)
    sentences = list(ServiceRuleVersion.objects.order_by("version").values_list("sentence", flat=1))
    assert len(sentences) == 2
    assert "every 6 months" in sentences[1]
    assert "first mail 2 weeks before" in sentences[1]
    assert Event.objects.filter(verb="changed rule", why__contains="this lot").exists()
    with pytest.raises(Clash):
        save_rule(rule=rule, version=rule.version, fields={"months": 3}, today=TODAY, actor=OWNER)
    save_rule(rule=saved, version=saved.version, fields={"active": False}, today=TODAY, actor=OWNER)
    assert DueItem.objects.get().silence == "The rule is no longer in use."


def rule_fields(**changes):
    return {
        "name": "Battery",
        "kind": KindFactory(),
        "check_asked": CheckFactory(),
        "trigger": "months",
        "months": 12,
        "what": "Load test",
        "why": "It ages.",
        "todo": "Come by.",
        **changes,
    }


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"trigger": "distance"}, "trigger"),
        ({"months": None}, "months"),
        ({"kind": None}, "kind"),
        ({"check_asked": None}, "check_asked"),
        ({"trigger": "event", "category": "service"}, "category"),
        ({"trigger": "date_code", "years": 0}, "years"),
        ({"repeat_days": 0}, "repeat_days"),
        ({"what": ""}, "what"),
    ],
)
def test_a_wrong_rule_is_told_at_its_field_and_nothing_is_saved(changes, field):
    with pytest.raises(ValidationError) as caught:
        save_rule(fields=rule_fields(**changes), today=TODAY, actor=OWNER)
    assert field in caught.value.message_dict
    assert not ServiceRuleVersion.objects.exists()


def test_everything_can_be_refreshed_as_a_safety_net():
    RuleFactory()
    a_case()
    FittingFactory(until=date(2025, 5, 1))
    CustomerFactory()
    assert refresh_all(today=TODAY) == 1
    assert DueItem.objects.count() == 1
