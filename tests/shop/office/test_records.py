"""Kinds of part, checks and accounts by form."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from installs.models import Check, ComponentKind, Reverification
from installs.services.parts import change_kind
from shop.people.models import User
from shop.reminders.models import ServiceRule
from tests.factories.desk import ACTOR, a_crestline
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Event

KINDS, CHECKS, PEOPLE = "/office/kinds/new/", "/office/checks/new/", "/office/people/new/"
PAGES = (
    "/office/", "/office/rules/", "/office/rules/new/", "/office/kinds/", KINDS,
    "/office/checks/", CHECKS, "/office/people/", PEOPLE,
)  # fmt: skip


@pytest.mark.parametrize("url", PAGES)
def test_only_the_owner_finds_the_office(
    owner: Client, desk: Client, technician: Client, url: str
) -> None:
    assert owner.get(url).status_code == 200
    assert (desk.get(url).status_code, technician.get(url).status_code) == (404, 404)


def test_a_kind_is_stored_with_its_ports(owner: Client) -> None:
    typed = {
        "name": "Wheel brake unit", "life_years": "5", "life_basis": "This shop's practice.",
        "cures": ["no_power"], "ports-0-name": "Stop signal", "ports-0-tow": "off",
        "ports-0-pedal_tow": "on", "ports-0-peak_a": "0.2", "ports-0-severity": "CAUTION",
    }  # fmt: skip
    fill_in(owner, KINDS, **typed)
    kind = ComponentKind.objects.get()
    assert (kind.slug, kind.cures) == ("wheel_brake_unit", ["no_power"])
    assert kind.ports == [
        {
            "name": "stop_signal", "demand": {"tow": "off"}, "with_pedal": {"tow": "on"},
            "peak_a": 0.2, "severity": "CAUTION",
        }
    ]  # fmt: skip
    assert Event.objects.get(verb="added kind of part").actor == "Owner"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Name: This field is required."),
        ({"ports-0-name": "", "ports-0-tow": "on"}, "Name the port"),
        ({"ports-0-name": "7th!"}, 'Port 1, Port: "7th!" does not fit: a port name'),
        ({"ports-0-peak_a": "lots"}, "“lots” is not a number"),
        ({"life_years": "5"}, "Say where the figure comes from, or leave it out."),
    ],
)
def test_a_kind_that_cannot_be_is_refused_at_its_field(
    owner: Client, typed: dict[str, str], sentence: str
) -> None:
    fine = {"name": "Brake unit", "ports-0-name": "supply", "note": "kept"}
    answer = fill_in(owner, KINDS, **{**fine, **typed})
    assert sentence in words_of(answer)
    assert sent_back(answer)["note"] == ["kept"]
    assert not ComponentKind.objects.exists()


def change_url(kind: ComponentKind) -> str:
    return reverse("office:kind_change", args=[kind.pk])


def test_a_kind_opened_and_saved_is_the_same_kind(owner: Client) -> None:
    a_crestline()
    for kind in ComponentKind.objects.all():
        fill_in(owner, change_url(kind))
    changed = Event.objects.filter(verb="changed kind of part")
    # The default severity is written out once; what the ports need stays the same.
    assert all(
        [p["demand"] for p in e.before.get("ports", [])]
        == [p["demand"] for p in e.after.get("ports", [])]
        for e in changed
    )
    assert not Reverification.objects.filter(cause="kind").exists()


def test_changing_what_a_kind_needs_says_whom_it_concerns(owner: Client) -> None:
    a_crestline()
    kind = ComponentKind.objects.get(slug="transmitter")
    assert "1 vehicle carries one" in words_of(owner.get(change_url(kind)))
    Reverification.objects.update(state="withdrawn")
    answer = fill_in(owner, change_url(kind), **{"ports-0-tow": "off"})
    assert "must be proven:" in words_of(owner.get(answer.url))


def test_two_owners_on_one_kind_see_both_values(owner: Client) -> None:
    a_crestline()
    kind = ComponentKind.objects.get(slug="transmitter")
    paper = sent_back(owner.get(change_url(kind)))
    change_kind(
        kind=kind, changes={"ports": [{"name": "supply", "demand": {"tow": "any"}}]},
        version=kind.version, actor=ACTOR,
    )  # fmt: skip
    answer = owner.post(change_url(kind), {**paper, "ports-0-tow": "off"})
    assert "In the record now: supply, no matter" in words_of(answer)
    assert "What you entered: supply, must be at rest" in words_of(answer)
    owner.post(change_url(kind), {**sent_back(answer), "choose-ports": "theirs"})
    assert ComponentKind.objects.get(pk=kind.pk).ports[0]["demand"] == {"tow": "any"}


def test_a_check_is_named_once(owner: Client) -> None:
    fill_in(owner, CHECKS, name="Pin test", asks="Pull it.")
    assert "There is a check of this name already." in words_of(
        fill_in(owner, CHECKS, name="pin test")
    )
    check = Check.objects.get()
    fill_in(owner, reverse("office:check_change", args=[check.pk]), asks="Pull it by hand.")
    assert Check.objects.get().asks == "Pull it by hand."
    assert Event.objects.get(verb="changed check").before == {"asks": "Pull it."}


def test_an_account_is_given_and_taken_away(owner: Client) -> None:
    typed = {"name": "Robin", "username": "robin", "email": "robin@shop.example", "role": "desk"}
    answer = fill_in(owner, PEOPLE, **typed, password="short")
    assert "at least 12 characters" in words_of(answer)
    assert not User.objects.filter(username="robin").exists()
    fill_in(owner, PEOPLE, **typed, password="a long enough phrase 7")
    robin = User.objects.get(username="robin")
    assert robin.check_password("a long enough phrase 7")
    client = Client()
    client.force_login(robin)
    assert client.get("/customers/new/").status_code == 200
    fill_in(owner, reverse("office:person_change", args=[robin.pk]), is_active=[])
    assert client.get("/customers/new/").status_code == 302
    assert "a long enough phrase" not in str(list(Event.objects.values()))


def test_the_last_owner_stays_an_owner(owner: Client) -> None:
    last = User.objects.get(role="owner")
    User.objects.filter(pk=last.pk).update(email="owner@shop.example")
    url = reverse("office:person_change", args=[last.pk])
    for typed in ({"role": "desk"}, {"is_active": []}):
        assert "at least one owner" in words_of(fill_in(owner, url, **typed))
    assert User.objects.get(pk=last.pk).is_owner


@pytest.mark.parametrize("page", ["rules", "kinds", "checks", "people"])
def test_a_list_costs_the_same_for_one_row_as_for_many(owner: Client, page: str) -> None:

    def cost() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert owner.get(f"/office/{page}/").status_code == 200
        return len(seen)

    _one_more(1)
    alone = cost()
    for number in range(2, 5):
        _one_more(number)
    assert cost() == alone


def _one_more(number: int) -> None:

    kind = ComponentKind.objects.create(slug=f"k{number}", name=f"Kind {number}")
    check = Check.objects.create(slug=f"c{number}", name=f"Check {number}")
    ServiceRule.objects.create(
        name=f"Rule {number}", kind=kind, check_asked=check, trigger="months", months=12,
        what="x", why="x", todo="x",
    )  # fmt: skip
    User.objects.create(username=f"u{number}", role="desk")


def test_a_kind_says_what_hangs_on_it(owner: Client) -> None:
    assert "a failed one blocks the proof" in words_of(owner.get(KINDS))
    fill_in(owner, KINDS, name="Actuator", duty="brake")
    assert ComponentKind.objects.get().duty == "brake"


def test_a_check_keeps_the_values_that_it_wants(owner: Client) -> None:
    fill_in(owner, CHECKS, name="Pull test", wants="held minutes, at least 15\nvolts before")
    check = Check.objects.get()
    assert check.wants == [{"name": "held minutes", "least": 15.0}, {"name": "volts before"}]
    url = reverse("office:check_change", args=[check.pk])
    assert sent_back(owner.get(url))["wants"] == ["held minutes, at least 15\nvolts before"]
    answer = fill_in(owner, url, wants="held: 15")
    assert "“held: 15”: write a name, or: held minutes, at least 15" in words_of(answer)
    fill_in(owner, url, wants="volts")
    check.refresh_from_db()
    assert check.wants == [{"name": "volts"}]
    assert Event.objects.filter(verb="changed check").count() == 1
