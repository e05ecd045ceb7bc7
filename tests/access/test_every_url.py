"""Who may open what: every address, every role. One that is not listed fails the suite."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.apps import apps
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from installs.models import Reverification
from installs.services.photos import keep_photo
from shop import clock
from shop.outbox.services import Letter, queue_mail
from shop.people.models import Ownership, User
from shop.reminders.models import DueItem
from tests.factories.people import UserFactory
from tests.factories.pictures import camera_jpeg
from tests.factories.reminders import ReverifyRuleFactory, RuleFactory, a_case
from vehicles.models import Combination, Event, ModelRange, Reading, Vehicle
from vehicles.records import PULLPIN

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 1)
ROLES = ("stranger", "no role", "left the shop", "technician", "desk", "owner")
STAFF, KEEPERS, OWNERS = {"technician", "desk", "owner"}, {"desk", "owner"}, {"owner"}
EVERYBODY = set(ROLES)
MARKER = "Zephyrine Quillfeather"


@dataclass(frozen=True)
class Page:
    """Who may open it, what they get, and which record it is about."""

    who: frozenset[str]
    status: int = 200
    about: str = ""
    query: str = ""

    def args(self, world: dict[str, Any]) -> list[Any]:
        return [world[name] for name in self.about.split()] if self.about else []


def page(who: set[str], about: str = "", status: int = 200, query: str = "") -> Page:
    return Page(frozenset(who), status, about, query=query)


PRESS = 405  # only ever posted to

ACCESS: dict[str, Page] = {
    # Open to the world: signing in, and stopping reminders. `theme` stores a cookie, no more.
    "account_login": page(EVERYBODY),
    "account_logout": page(EVERYBODY),
    "account_reset_password": page(EVERYBODY),
    "account_reset_password_done": page(EVERYBODY),
    "account_reset_password_from_key": page(EVERYBODY, "uid key"),
    "account_reset_password_from_key_done": page(EVERYBODY),
    "account_inactive": page(EVERYBODY),
    "stop": page(EVERYBODY, "token", status=404),
    "theme": page(EVERYBODY, status=PRESS),
    "papers:card": page(EVERYBODY, "token", status=404),
    "units": page(STAFF | {"no role"}, status=PRESS),
    # The desk.
    "desk:today": page(STAFF),
    "desk:find": page(STAFF, query="?q=okafor"),
    "desk:customers": page(STAFF),
    "desk:customer": page(STAFF, "customer"),
    "desk:customer_add": page(KEEPERS),
    "desk:customer_change": page(KEEPERS, "customer"),
    "desk:consent_set": page(KEEPERS, "customer"),
    "desk:vehicles": page(STAFF),
    "desk:vehicle": page(STAFF, "vehicle"),
    "desk:vehicle_add": page(KEEPERS),
    "desk:vehicle_change": page(KEEPERS, "vehicle"),
    "desk:vehicle_sheet": page(STAFF, "vehicle"),
    "desk:sheet_import": page(KEEPERS),
    "desk:what_if": page(STAFF, "vehicle"),
    "desk:reading_add": page(STAFF, "vehicle"),
    "desk:reading_correct": page(STAFF, "reading"),
    "desk:ownership_start": page(KEEPERS, "vehicle"),
    "desk:ownership_end": page(KEEPERS, "ownership"),
    "desk:combination_start": page(KEEPERS, "vehicle"),
    "desk:tow_sheet": page(STAFF, "combination"),
    "desk:hitch_measure": page(STAFF, "combination"),
    "desk:workbench": page(STAFF),
    "desk:workbench_attach": page(STAFF, "fitting", status=PRESS),
    "desk:combination_end": page(KEEPERS, "combination"),
    "desk:ranges": page(STAFF),
    "desk:range": page(STAFF, "range"),
    "desk:range_add": page(KEEPERS),
    "desk:procedure_history": page(STAFF, "of_range range"),
    "desk:procedure_revise": page(KEEPERS, "of_range range"),
    "desk:feed_map_revise": page(KEEPERS, "of_range range"),
    "desk:components": page(STAFF),
    "desk:component": page(STAFF, "component"),
    "desk:component_add": page(KEEPERS),
    "desk:component_change": page(KEEPERS, "component"),
    "desk:fit": page(STAFF, "vehicle"),
    "desk:fitting_change": page(STAFF, "fitting"),
    "desk:fitting_move": page(STAFF, "fitting"),
    "desk:fitting_remove": page(STAFF, "fitting"),
    "desk:prove": page(STAFF, "vehicle"),
    "desk:inspect": page(STAFF, "vehicle"),
    "desk:outside_work": page(STAFF, "vehicle"),
    "desk:due": page(STAFF),
    "desk:due_item": page(STAFF, "item"),
    "desk:due_booked": page(KEEPERS, "item", status=PRESS),
    "desk:due_unbooked": page(KEEPERS, "item", status=PRESS),
    "desk:due_snooze": page(KEEPERS, "item", status=PRESS),
    "desk:reverifications": page(STAFF),
    "desk:mails": page(KEEPERS),
    "desk:mail": page(KEEPERS, "mail"),
    "desk:mail_html": page(KEEPERS, "mail"),
    "desk:mail_retry": page(KEEPERS, "mail", status=PRESS),
    "desk:mail_settle": page(KEEPERS, "mail", status=PRESS),
    "desk:log": page(STAFF),
    "desk:photo": page(STAFF, "photo"),
    "desk:photo_small": page(STAFF, "photo"),
    # The papers. The vehicle has no procedure, so there is a page that says why no card.
    "papers:tow_card": page(STAFF, "vehicle", status=409),
    "papers:label": page(STAFF, "component"),
    "papers:inspections": page(STAFF, "component"),
    # The office.
    "office:home": page(OWNERS),
    "office:rules": page(OWNERS),
    "office:rule_add": page(OWNERS),
    "office:rule_change": page(OWNERS, "rule"),
    "office:kinds": page(OWNERS),
    "office:kind_add": page(OWNERS),
    "office:kind_change": page(OWNERS, "kind"),
    "office:checks": page(OWNERS),
    "office:check_add": page(OWNERS),
    "office:check_change": page(OWNERS, "check"),
    "office:limits": page(OWNERS),
    "office:limit_change": page(OWNERS, "limit"),
    "office:people": page(OWNERS),
    "office:person_add": page(OWNERS),
    "office:person_change": page(OWNERS, "user"),
}

# Addresses of the sign-in library that a person reaches for the own account only; the library
# decides, and its own tests hold it to that. What must be true here: no stranger gets in.
OWN_ACCOUNT = {
    "account_change_password",
    "account_confirm_email",
    "account_confirm_login_code",
    "account_email",
    "account_email_verification_sent",
    "account_reauthenticate",
    "account_set_password",
    "account_signup",
    "mfa_activate_totp",
    "mfa_authenticate",
    "mfa_deactivate_totp",
    "mfa_download_recovery_codes",
    "mfa_generate_recovery_codes",
    "mfa_index",
    "mfa_reauthenticate",
    "mfa_view_recovery_codes",
    "usersessions_list",
}


def names(resolver: URLResolver | None = None, space: str = "") -> Iterator[str]:
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLPattern):
            yield space + (pattern.name or str(pattern.pattern))
        else:
            inner = f"{pattern.namespace}:" if pattern.namespace else ""
            yield from names(pattern, space + inner)


@pytest.fixture
def world() -> dict[str, Any]:
    """One of everything, all of it belonging to a customer whose name marks it."""
    rule = RuleFactory()
    ReverifyRuleFactory()
    case = a_case(name=MARKER)
    crestline = ModelRange.objects.create(
        make="Larkspur", model="Fjord", year_from=2019, year_to=2023
    )
    Vehicle.objects.filter(pk=case.vehicle.pk).update(model_range=crestline)
    coach = Vehicle.objects.create(kind="motorhome", make="Tamarack", model="34")
    pair = Combination.objects.create(motorhome=coach, towed=case.vehicle, since=TODAY)
    Reverification.objects.create(
        vehicle=case.vehicle, cause="procedure", differences=["F12 is now pulled."], opened_on=TODAY
    )
    case.refresh(TODAY)
    mail = queue_mail(
        Letter(
            key="access-test",
            kind="digest",
            to_address="z@mail.example",
            to_name=MARKER,
            customer_id=case.customer.pk,
            subject=f"For {MARKER}",
            text="A text",
            html="<p>A text</p>",
            not_before=clock.now(),
        )
    )
    photo = keep_photo(
        client_id=uuid4(),
        vehicle=case.vehicle,
        data=camera_jpeg(),
        actor=PULLPIN,
        now=clock.now(),
    )
    return {
        "customer": case.customer.pk,
        "vehicle": case.vehicle.pk,
        "range": crestline.pk,
        "of_range": "range",
        "component": case.fitting.component_id,
        "fitting": case.fitting.pk,
        "ownership": Ownership.objects.get().pk,
        "combination": pair.pk,
        "item": DueItem.objects.first().pk,
        "mail": mail.pk,
        "photo": photo.client_id,
        "rule": rule.pk,
        "kind": rule.kind_id,
        "check": rule.check_asked_id,
        "token": "made-up",
        "uid": "1",
        "key": "made-up",
        "user": UserFactory(username="colleague").pk,
        "limit": "port_volts",
        "reading": Reading.objects.create(
            vehicle=case.vehicle, what="odometer_km", value=1, typed="1 km", on=TODAY, by="Teo"
        ).pk,
    }


def client_of(role: str) -> Client:
    client = Client()
    if role == "stranger":
        return client
    user = UserFactory(
        username=role.replace(" ", "-"), role=role if role in User.Role.values else ""
    )
    client.force_login(user)
    if role == "left the shop":
        User.objects.filter(pk=user.pk).update(role="desk", is_active=False)
    return client


def test_every_address_is_listed() -> None:
    listed = {*ACCESS, *OWN_ACCOUNT}
    found = set(names())
    assert found - listed == set(), "list these with who may open them"
    assert listed - found == set(), "these are gone: take them out of the list"


@pytest.mark.parametrize("role", ROLES)
def test_a_page_opens_for_whom_it_is_meant_and_for_nobody_else(
    role: str, world: dict[str, Any]
) -> None:
    before, client, wrong = counted(), client_of(role), {}
    for name, wanted in ACCESS.items():
        if name == "account_logout":
            continue  # has its own test: it would end the round
        answer = client.get(reverse(name, args=wanted.args(world)) + wanted.query)
        got = _as_told(answer)
        # A signed-in person is sent on from the sign-in pages.
        fine = {_expected(wanted, role)} | ({"elsewhere"} if name.startswith("account_") else set())
        if got not in fine:
            wrong[name] = f"{got}, not {_expected(wanted, role)}"
        elif role not in wanted.who and MARKER in answer.content.decode():
            wrong[name] = "tells whom it is about"
    assert wrong == {}
    assert counted() == before, "looking changes nothing"


@pytest.mark.parametrize("role", ["stranger", "no role", "left the shop", "technician"])
def test_who_may_not_open_a_page_may_not_press_its_button_either(
    role: str, world: dict[str, Any]
) -> None:
    before, client, wrong = counted(), client_of(role), {}
    for name, wanted in ACCESS.items():
        if role not in wanted.who:
            answer = client.post(reverse(name, args=wanted.args(world)), {})
            if _as_told(answer) != _expected(wanted, role):
                wrong[name] = _as_told(answer)
    assert wrong == {}
    assert counted() == before


def test_a_record_that_is_not_there_is_a_404(world: dict[str, Any]) -> None:
    gone: dict[str, Any] = {
        key: uuid4() if isinstance(value, UUID) else value if isinstance(value, str) else 999_999
        for key, value in world.items()
    }
    gone["limit"] = "no_such_limit"
    client, wrong = client_of("owner"), {}
    for name, wanted in ACCESS.items():
        if not wanted.about or name.startswith("account_"):
            continue
        address = reverse(name, args=wanted.args(gone))
        answer = client.post(address) if wanted.status == PRESS else client.get(address)
        if answer.status_code != 404:
            wrong[name] = answer.status_code
    assert wrong == {}


def test_no_stranger_sees_a_record_through_the_pages_of_an_account(world: dict[str, Any]) -> None:
    client = Client()
    for name in sorted(OWN_ACCOUNT):
        args = ["made-up"] if name == "account_confirm_email" else []
        answer = client.get(reverse(name, args=args))
        assert answer.status_code in (200, 302, 404), name
        assert MARKER not in answer.content.decode(), name


def _as_told(answer: Any) -> int | str:
    """Return the status, or where a redirect leads: to sign in, or elsewhere."""
    if answer.status_code != 302:
        return answer.status_code
    login = reverse("account_login")
    return "sign in" if answer.headers["Location"].startswith(login) else "elsewhere"


def _expected(wanted: Page, role: str) -> int | str:
    if role in wanted.who:
        return wanted.status
    return "sign in" if role in ("stranger", "left the shop") else 404


def test_nobody_signs_up() -> None:
    told = {
        "username": "x",
        "email": "x@mail.example",
        "password1": "Tr1cky-enough-9",
        "role": "owner",
    }
    Client().post(
        reverse("account_signup"), {**told, "password2": told["password1"], "role": "owner"}
    )
    assert not User.objects.exists()


def test_a_role_that_is_taken_away_holds_from_the_next_click(world: dict[str, Any]) -> None:
    client = client_of("owner")
    assert client.get(reverse("desk:customer_add")).status_code == 200
    User.objects.filter(username="owner").update(role="technician")
    assert client.get(reverse("desk:customer_add")).status_code == 404


def counted() -> dict[str, int]:
    """How many rows stand in every table of our own, and what the newest event is."""
    own = ("vehicles", "installs", "people", "reminders", "outbox")
    rows = {
        model._meta.label: model._default_manager.count()
        for label in own
        for model in apps.get_app_config(label).get_models()
        if model is not User
    }
    newest = Event.objects.first()
    return {**rows, "newest event": newest.pk if newest else 0}
