"""One box: any scrap finds the customer, the vehicle or the part, and says why."""

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from installs.services.parts import add_component
from shop.people.models import User
from shop.people.services import Reach, add_customer
from shop.search.reads import SHOWN, Found, find
from tests.factories.desk import ACTOR, a_crestline, okafors
from tests.factories.installs import KindFactory
from tests.factories.people import UserFactory
from vehicles.models import Vehicle
from vehicles.services import add_vehicle

pytestmark = pytest.mark.django_db


@pytest.fixture
def staff() -> User:
    return UserFactory(role=User.Role.DESK)


def names(found: Found, *, alike: bool = False) -> list[str]:
    groups = found.look_alikes if alike else found.groups
    return [hit.title for group in groups for hit in group.hits]


def plates(found: Found, *, alike: bool = False) -> list[str]:
    groups = found.look_alikes if alike else found.groups
    return [hit.plate for group in groups for hit in group.hits]


@pytest.mark.parametrize(
    "query",
    [
        "okafor ines",
        "PAUL OKAFOR",
        "3035550187",
        "(303) 555-0187",
        "+1 303 555 0187",
        "555-0188",
        "80044",
        "sorrel lane",
        "ines@okafor",
    ],
)
def test_a_customer_is_found_by_any_scrap(staff: User, query: str) -> None:
    okafors()
    add_customer(actor=ACTOR, reach=Reach(phones=["212 555 0100"]), name="Somebody Else")
    assert names(find(query, staff)) == ["Ines and Paul Okafor"]


@pytest.mark.parametrize("query", ["munoz", "Muñoz", "MUNOZ", "bjorn munoz"])
def test_accents_and_capitals_make_no_difference(staff: User, query: str) -> None:
    okafors(name="Björn Muñoz")
    assert names(find(query, staff)) == ["Björn Muñoz"]


def with_plates(*given: str) -> None:
    for plate in given:
        add_vehicle(actor=ACTOR, kind="towed", make="Larkspur", model="Fjord", plate=plate)


def test_a_piece_of_a_plate_finds_it_however_it_is_spaced(staff: User) -> None:
    with_plates("B NO 1234", "BN O 1234", "LOS-7353")
    assert plates(find("7353", staff)) == ["LOS-7353"]
    assert sorted(plates(find("bno1234", staff))) == ["B NO 1234", "BN O 1234"]


def test_a_zero_for_an_o_is_offered_as_look_alike(staff: User) -> None:
    """The question says n0, the plates say NO: nothing is named, two resemble it."""
    with_plates("B NO 1234", "BN O 1234", "LOS-7353")
    found = find("n0 1234", staff)
    assert plates(found) == []
    assert sorted(plates(found, alike=True)) == ["B NO 1234", "BN O 1234"]


def test_what_is_named_is_not_offered_again_as_look_alike(staff: User) -> None:
    with_plates("QO 10", "Q0 10")
    found = find("qo 10", staff)
    assert plates(found) == ["QO 10"]
    assert plates(found, alike=True) == ["Q0 10"]


@pytest.mark.parametrize(
    ("query", "title", "why"),
    [
        ("K7033181", "2019 Alder Crestline", "VIN ZPA00001XK7033181"),
        ("pb-20417", "Brake unit PB-20417", "serial PB-20417"),
        ("88120", "Transmitter T-88120", "serial T-88120"),
    ],
)
def test_vin_tails_and_serials_are_found_and_named(
    staff: User, query: str, title: str, why: str
) -> None:
    a_crestline()
    found = find(query, staff)
    assert names(found) == [title]
    assert why in found.groups[0].hits[0].why


def test_a_coach_serial_finds_the_motorhome(staff: User) -> None:
    add_vehicle(
        actor=ACTOR, kind="motorhome", make="Tamarack", model="34", coach_serial="TM-34-00817"
    )
    assert names(find("tm3400817", staff)) == ["Tamarack 34"]


def test_a_part_says_on_which_vehicle_it_is(staff: User) -> None:
    a_crestline()
    add_component(actor=ACTOR, kind=KindFactory(), serial="PB-20417-B")
    hits = find("pb20417", staff).groups[0].hits
    assert {hit.title: hit.beside for hit in hits} == {
        "Brake unit PB-20417": ("on 2019 Alder Crestline",),
        "Breakaway battery PB-20417-B": ("on the shelf",),
    }


def test_named_rows_are_not_hidden_by_very_many_look_alikes(staff: User) -> None:
    Vehicle.objects.bulk_create(
        Vehicle(kind="towed", make="Larkspur", plate="Q0 11", lookup="larkspur q011")
        for _ in range(600)
    )
    with_plates("QO 11")
    assert plates(find("qo11", staff)) == ["QO 11"]


def test_a_long_list_is_cut_and_says_so(staff: User) -> None:
    with_plates(*(f"QC {number}" for number in range(SHOWN + 1)))
    group = find("larkspur", staff).groups[0]
    assert (len(group.hits), group.more) == (SHOWN, True)


@pytest.mark.parametrize("count", [1, 12])
def test_a_search_costs_the_same_queries_for_any_number_of_hits(
    staff: User, count: int, django_assert_num_queries: object
) -> None:
    for number in range(count):
        customer = okafors(name=f"Okafor {number}")
        add_vehicle(actor=ACTOR, kind="towed", make="Okafor", plate=f"QC {number}")
        assert customer.pk
    with django_assert_num_queries(9):
        assert find("okafor", staff).count == 2 * count


@pytest.mark.parametrize("query", ["", "   ", "--", "%", "_", "'", '"', "\\"])
def test_nothing_asked_finds_nothing(staff: User, query: str) -> None:
    okafors()
    assert find(query, staff) == Found()


def test_customers_and_strangers_find_nothing() -> None:
    okafors()
    assert find("okafor", UserFactory(role="")).count == 0


def test_every_look_up_column_has_its_index() -> None:
    """A later migration that rebuilds a table on SQLite would lose it without a word."""
    with connection.cursor() as cursor:
        for table in ("people_customer", "vehicles_vehicle", "installs_component"):
            constraints = connection.introspection.get_constraints(cursor, table)
            assert f"{table}_lookup" in constraints


def test_the_one_thing_that_is_named_opens_at_once(client: Client, staff: User) -> None:
    client.force_login(staff)
    customer = okafors()
    vehicle = a_crestline(customer=customer)
    a_crestline(2)
    url = reverse("desk:find")
    straight = client.get(url, {"q": "qz4471"})
    assert straight.url == reverse("desk:vehicle", args=[vehicle.pk])
    assert client.get(url, {"q": "303 555 0187"}).url == reverse(
        "desk:customer", args=[customer.pk]
    )
    assert client.get(url, {"q": "qz44"}).status_code == 200
    assert client.get(url, {"q": "qz4471", "all": "1"}).status_code == 200


def test_typing_gets_the_hits_alone(client: Client, staff: User) -> None:
    client.force_login(staff)
    okafors()
    headers = {"HX-Request": "true", "HX-Target": "found"}
    html = client.get(reverse("desk:find"), {"q": "okaf"}, headers=headers).content.decode()
    assert "Ines and Paul Okafor" in html
    assert "<html" not in html
