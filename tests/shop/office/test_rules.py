"""Rules by form: read as a sentence first, kept as versions, refused with a sentence."""

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Check, ComponentKind
from shop.reminders.models import DueItem, ServiceRule, ServiceRuleVersion
from shop.reminders.services import save_rule
from tests.factories.desk import ACTOR, TODAY, a_crestline, okafors
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Event

ADD = "/office/rules/new/"


@pytest.fixture
def told(db: None) -> dict[str, str]:
    """What a person types for a rule about breakaway switches."""
    a_crestline(customer=okafors())
    check = Check.objects.create(slug="pin", name="Pin test")
    return {
        "name": "Pin test every year",
        "trigger": "months",
        "kind": str(ComponentKind.objects.get(slug="breakaway_switch").pk),
        "check_asked": str(check.pk),
        "months": "12",
        "what": "Test of the breakaway pin",
        "why": "A switch that was never pulled may do nothing.",
        "todo": "Bring the vehicle in.",
    }


def test_a_rule_is_read_as_a_sentence_and_its_items_counted_before(
    owner: Client, told: dict[str, str]
) -> None:
    answer = fill_in(owner, ADD, **told, look="yes")
    shown = words_of(answer)
    assert "Nothing is saved yet: this is how it reads" in shown
    assert "12 months" in shown
    assert "1 item would stand open from it" in shown
    assert not ServiceRule.objects.exists()
    assert not DueItem.objects.exists()
    owner.post(ADD, {**sent_back(answer), "save": "yes"})
    assert ServiceRuleVersion.objects.get().rule.name == "Pin test every year"
    assert DueItem.objects.count() == 1
    assert Event.objects.filter(verb="added rule").count() == 1


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"months": ""}, "Say after how many months, at least 1."),
        ({"kind": ""}, "Say which kind of part the rule is about."),
        ({"check_asked": ""}, "Say which check has to be done"),
        ({"months": "900"}, "less than or equal to 240"),
        ({"trigger": "distance"}, "distance is not one of the available choices"),
        ({"trigger": "date_code"}, "Say how many years."),
        ({"what": ""}, "What is due, as the customer reads it: This field is required."),
    ],
)
def test_a_rule_that_cannot_be_worked_out_is_refused_at_its_field(
    owner: Client, told: dict[str, str], typed: dict[str, str], sentence: str
) -> None:
    answer = fill_in(owner, ADD, **{**told, **typed})
    assert sentence in words_of(answer)
    assert sent_back(answer)["todo"] == ["Bring the vehicle in."]
    assert not ServiceRule.objects.exists()


def test_a_change_keeps_the_version_before_and_a_clash_shows_both(
    owner: Client, told: dict[str, str]
) -> None:
    fill_in(owner, ADD, **told)
    rule = ServiceRule.objects.get()
    url = reverse("office:rule_change", args=[rule.pk])
    paper = sent_back(owner.get(url))
    save_rule(rule=rule, fields={"months": 6}, version=1, today=TODAY, actor=ACTOR)
    answer = owner.post(url, {**paper, "months": "24"})
    assert "In the record now: 6" in words_of(answer)
    assert ServiceRule.objects.get().months == 6
    owner.post(url, {**sent_back(answer), "choose-months": "mine"})
    assert ServiceRule.objects.get().months == 24
    assert [version.content["months"] for version in ServiceRuleVersion.objects.all()] == [
        24,
        6,
        12,
    ]


def test_a_double_click_makes_one_rule(owner: Client, told: dict[str, str]) -> None:
    paper = {**sent_back(owner.get(ADD)), **told}
    assert owner.post(ADD, paper).status_code == owner.post(ADD, paper).status_code == 302
    assert ServiceRule.objects.count() == 1
