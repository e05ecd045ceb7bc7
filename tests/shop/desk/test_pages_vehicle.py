"""The page of a vehicle: what it says, what it costs, and that it never saves anything."""

import json
import re

import pytest
from django.test import Client
from django.urls import reverse

from installs.domain.sheet import parse_sheet
from installs.models import Verification
from shop import changes
from shop.people.models import User
from tests.factories.desk import ACTOR, TODAY, a_crestline, crestline, okafors
from tests.factories.people import UserFactory
from vehicles import services as vehicles
from vehicles.models import Event, Vehicle

MOST_QUERIES = 12

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client: Client) -> Client:
    client.force_login(UserFactory(role=User.Role.DESK))
    return client


def page_of(client: Client, vehicle: Vehicle, query: str = "") -> str:
    response = client.get(reverse("desk:vehicle", args=[vehicle.pk]) + query)
    assert response.status_code == 200
    return response.content.decode()


def words_of(html: str) -> str:
    """The page's words without its tags, in one line."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("&#x27;", "'")


def with_parts(count: int) -> dict[str, object]:
    """A crestline's sheet with `count` brake units on it."""
    sheet = crestline(1)
    first = sheet["fittings"][0]
    sheet["fittings"] = [{**first, "id": f"P{n}", "serial": f"PB-{9000 + n}"} for n in range(count)]
    return sheet


@pytest.mark.parametrize("count", [0, 1, 15])
def test_a_vehicle_costs_the_same_queries_for_any_number_of_parts(
    desk: Client, django_assert_num_queries: object, count: int
) -> None:
    customer = okafors()
    vehicle = a_crestline(customer=customer, fittings=with_parts(count)["fittings"])
    page_of(desk, vehicle)
    with django_assert_num_queries(MOST_QUERIES):
        page_of(desk, vehicle)


def test_the_page_says_what_is_dead_why_and_what_would_cure_it(desk: Client) -> None:
    words = words_of(page_of(desk, a_crestline(customer=okafors())))
    assert "Brake unit, supply: dead in tow and after a breakaway." in words
    assert "F08 is out (step 5)." in words
    assert "Cure 1: Feed it from F22's load side (15 A)." in words
    assert "Not proven" in words


def test_unknown_is_shown_as_unknown_and_blocks(desk: Client) -> None:
    words = words_of(page_of(desk, a_crestline()))
    assert "UNKNOWN blocks sign-off Transmitter, supply: nobody knows" in words


def test_the_feed_sheet_follows_the_state_that_is_asked_for(desk: Client) -> None:
    vehicle = a_crestline()
    assert "Feeds in the tow state" in page_of(desk, vehicle)
    assert "Feeds in the drive state" in page_of(desk, vehicle, "?state=drive")
    assert "Feeds in the breakaway state" in page_of(desk, vehicle, "?state=breakaway")
    assert "Feeds in the tow state" in page_of(desk, vehicle, "?state=parked")


def test_the_feed_sheet_tells_the_volts_at_both_ends_of_a_way(desk: Client) -> None:
    html = page_of(desk, a_crestline(), "?state=drive")
    sheet = html[html.index('id="feed-sheet"') : html.index('id="feeds"')]
    assert re.search(r'class="volts"[^>]*>\d+\.\d V \(\d', sheet)
    assert re.search(r'class="sub"[^>]*>1\d\.\d V\b', sheet)


def test_a_swap_in_place_gets_the_feed_sheet_alone(desk: Client) -> None:
    vehicle = a_crestline()
    headers = {"HX-Request": "true", "HX-Target": "feed-sheet"}
    url = reverse("desk:vehicle", args=[vehicle.pk])
    html = desk.get(f"{url}?state=drive", headers=headers).content.decode()
    assert "Feeds in the drive state" in html
    assert "<html" not in html


def test_pulled_and_tapped_fuses_are_marked_in_the_box(desk: Client) -> None:
    html = page_of(desk, a_crestline())
    cells = {
        words_of(cell).split()[0]: cell
        for cell in re.findall(r"<td class=.*?</td>", html, re.DOTALL)
        if "<b>" in cell
    }
    assert "PULL" in cells["F08"]
    assert 'class="out"' in cells["F08"]
    assert 'class=" tap"' in cells["F21"]
    assert "PULL" not in cells["F21"]


def test_two_sources_that_disagree_are_both_shown(desk: Client) -> None:
    """The paper manual and the web manual differ in the wait: both stand on the page."""
    vehicle = a_crestline()
    own = crestline()["procedure"]
    own["steps"].append({"no": 7, "action": "wait", "value": 15})
    changes.revise_procedure(content=own, vehicle=vehicle, today=TODAY, actor=ACTOR)
    words = words_of(page_of(desk, vehicle))
    assert "Two sources disagree." in words
    assert "It does not ask for: Wait 15 minutes." in words


def test_what_the_customer_says_is_shown_as_hearsay(desk: Client) -> None:
    told = {**crestline()["procedure"], "source": {"kind": "customer_says", "title": "phone call"}}
    words = words_of(page_of(desk, a_crestline(procedure=told)))
    assert "This is what somebody said" in words
    assert "the customer says, phone call" in words


def test_cautions_stand_at_the_step_where_the_hand_acts(desk: Client) -> None:
    words = words_of(page_of(desk, a_crestline()))
    assert "Put the selector in N WARNING The vehicle may roll" in words


def test_a_what_if_shows_who_lives_and_saves_nothing(desk: Client) -> None:
    vehicle = a_crestline()
    events = Event.objects.count()
    url = reverse("desk:what_if", args=[vehicle.pk])
    words = words_of(desk.get(f"{url}?fuses=F08").content.decode())
    assert "Brake unit, supply: ON in tow instead of OFF" in words
    words = words_of(desk.get(f"{url}?fuses=F34").content.decode())
    assert "No fitted part and no load that the map judges would change." in words
    assert Event.objects.count() == events


@pytest.mark.parametrize("query", ["", "?fuses=F99", "?key=sideways", "?disconnect=perhaps"])
def test_a_what_if_without_a_question_it_knows_asks_for_one(desk: Client, query: str) -> None:
    url = reverse("desk:what_if", args=[a_crestline().pk])
    assert "Tick a fuse to see who dies" in desk.get(url + query).content.decode()


def test_a_motorhome_shows_both_its_identities_and_what_it_tows(desk: Client) -> None:
    towed = a_crestline()
    motorhome = vehicles.add_vehicle(
        actor=ACTOR,
        kind="motorhome",
        make="Tamarack",
        model="34",
        year=2016,
        chassis_make="Barge",
        chassis_year=2015,
        coach_serial="TM-34-00817",
    )
    vehicles.start_combination(motorhome=motorhome, towed=towed, since=TODAY, actor=ACTOR)
    words = words_of(page_of(desk, motorhome))
    assert "Coach serial TM-34-00817" in words
    assert "Maker Barge Model year 2015" in words
    assert "2019 Alder Crestline" in words
    assert desk.get(reverse("desk:what_if", args=[motorhome.pk])).status_code == 404


def test_a_signed_proof_is_stamped_and_goes_stale_with_a_change(desk: Client) -> None:
    vehicle = a_crestline(fittings=crestline()["fittings"][3:])
    proof = Verification.objects.create(
        vehicle=vehicle,
        basis={},
        fingerprint=vehicle.standing.fingerprint,
        proven_on=TODAY,
        signed_by="Robin Sedge",
    )
    vehicle.reverifications.all().delete()
    assert "Proven" in words_of(page_of(desk, vehicle))
    Verification.objects.filter(pk=proof.pk).update(fingerprint="of another day")
    words = words_of(page_of(desk, vehicle))
    assert "Stale" in words
    assert "Proven" not in words


def test_the_sheet_goes_out_as_a_file_and_is_a_sheet(desk: Client) -> None:
    vehicle = a_crestline()
    response = desk.get(reverse("desk:vehicle_sheet", args=[vehicle.pk]))
    assert response["Content-Disposition"] == (
        'attachment; filename="2019-alder-crestline-qz-4471.json"'
    )
    sheet = parse_sheet(json.loads(response.content))
    given = parse_sheet(crestline())
    assert sheet.feed_map == given.feed_map
    assert sheet.procedure == given.procedure
    assert [f.serial for f in sheet.fittings] == [f.serial for f in given.fittings]


@pytest.mark.parametrize("name", ["vehicle", "what_if", "vehicle_sheet"])
def test_a_vehicle_that_is_not_there_is_not_found(desk: Client, name: str) -> None:
    assert desk.get(reverse(f"desk:{name}", args=[987654])).status_code == 404


def test_what_was_never_proven_is_not_called_again(desk: Client) -> None:
    vehicle = a_crestline()
    html = page_of(desk, vehicle)
    assert "TO BE PROVEN" in html
    assert "PROVE AGAIN" not in html
    Verification.objects.create(
        vehicle=vehicle, basis={}, fingerprint="of another day", proven_on=TODAY, signed_by="Robin"
    )
    assert "PROVE AGAIN" in page_of(desk, vehicle)


def test_another_sheet_of_the_same_owner_can_be_taken_in_from_here(desk: Client) -> None:
    customer = okafors()
    html = page_of(desk, a_crestline(customer=customer))
    assert f"{reverse('desk:sheet_import')}?customer={customer.pk}" in html
