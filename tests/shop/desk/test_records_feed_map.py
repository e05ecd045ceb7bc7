"""Feed maps by form: written as people write them, the same map again when nothing was changed."""

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop import changes
from shop.desk.forms.written import read_ground, read_point, read_points, written_point
from tests.factories.desk import ACTOR, TODAY, a_crestline
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import FeedMapRevision, Vehicle

NAMES = {
    "fuse": ["F08", "F21", "acc"],
    "terminal": ["15R", "30"],
    "relay": ["R1"],
    "outlet": ["acc"],
}
# Every field of every element that a row can hold, each away from its default.
FULL: dict[str, Any] = {
    "terminals": [
        {"id": "30", "known": "measured"},
        {"id": "15R", "live_in": ["acc", "on"], "timer_minutes": 20.0, "known": "document",
         "conditions": ["door shut", "battery above 12 V"], "closed_when": "pedal",
         "feed": "battery"},
    ],
    "fuses": [
        {"id": "F08", "feed": ["terminal:15R", "relay:R1@rest"], "rating_a": 7.5, "blade": "mini",
         "box": "dash", "row": 2, "col": 3, "behind": ["radio", "outlet"], "known": "measured",
         "backfeed": "terminal:30", "wire_ampacity_a": 10.0, "socket_a": 15.0},
        {"id": "F21"},
    ],
    "relays": [
        {"id": "R1", "coil": "fuse:F21@supply", "coil_ground": "switch:S2", "feed": "terminal:30",
         "contact": "changeover", "known": "measured"},
    ],
    "switches": [
        {"id": "S1", "feed": "fuse:F08", "closed_when": "pedal", "conditions": ["key on"],
         "name": "pedal switch", "known": "document"},
        {"id": "S2", "feed": "battery_negative_post", "closed_when": "always"},
    ],
    "outlets": [
        {"id": "acc", "feed": "coach", "name": "rear", "rating_a": 15.0, "timer_minutes": 5.0,
         "conditions": ["menu"], "user_can_change": True, "known": "measured"},
    ],
    "loads": [
        {"id": "assist", "feed": "switch:S1", "name": "steering assist", "peak_a": 60.0,
         "ground": "battery_negative_post", "consequence": "It sways.", "severity": "CAUTION",
         "needs": {"drive": "on", "tow": "off", "breakaway": "any"}, "known": "measured"},
        {"id": "lamp", "feed": "unknown"},
    ],
    "disconnect": {"leg": "negative"},
    "charge_line": {"lands": "battery_side", "ground": "body", "rating_a": 20.0,
                    "conditions": ["coach ignition on"], "known": "measured"},
    "electric_parking_brake": True,
    "automatic_lamps": False,
}  # fmt: skip


def with_map(content: dict[str, Any]) -> Vehicle:
    one = a_crestline()
    full = {**content, "fuses": [{"feed": "unknown", **fuse} for fuse in content["fuses"]]}
    changes.revise_feed_map(content=full, vehicle=one, today=TODAY, actor=ACTOR)
    return one


def url_of(vehicle: Vehicle) -> str:
    return reverse("desk:feed_map_revise", args=["vehicle", vehicle.pk])


def look(client: Client, url: str, **typed: Any) -> HttpResponse:
    return fill_in(client, url, why="measured", **typed, look="yes")


def save(client: Client, url: str, looked: HttpResponse) -> HttpResponse:
    return client.post(url, {**sent_back(looked), "save": "yes"})


def current(vehicle: Vehicle) -> FeedMapRevision:
    return FeedMapRevision.objects.in_force_for(vehicle)


@pytest.mark.parametrize(
    ("typed", "point"),
    [
        ("15R", "terminal:15R"),
        ("f08", "fuse:F08"),
        ("F08 supply", "fuse:F08@supply"),
        ("F08, load side", "fuse:F08"),
        ("R1 rest", "relay:R1@rest"),
        ("fuse acc", "fuse:acc"),
        ("outlet acc", "outlet:acc"),
        ("fuse:F08@supply", "fuse:F08@supply"),
        ("battery", "battery"),
        ("charge line", "coach"),
        ("?", "unknown"),
        # Both a fuse and an outlet go by this name, and F99 is nobody's: not guessed at.
        ("acc", "acc"),
        ("F99", "F99"),
    ],
)
def test_a_point_is_read_as_people_write_it(typed: str, point: str) -> None:
    assert read_point(typed, NAMES) == point


def test_a_written_point_is_read_back_as_itself() -> None:
    for point in (
        "fuse:F08",
        "fuse:F08@supply",
        "fuse:acc",
        "outlet:acc",
        "relay:R1@rest",
        "coach",
    ):
        assert read_point(written_point(point, NAMES), NAMES) == point


def test_several_points_and_grounds() -> None:
    assert read_points("15R; F08 supply; 15R", NAMES) == ["terminal:15R", "fuse:F08@supply"]
    assert read_points(" ", NAMES) == ["unknown"]
    assert read_ground("battery negative", NAMES) == "battery_negative_post"
    assert read_ground("S2", {"switch": ["S2"]}) == "switch:S2"


def test_a_full_map_opened_and_saved_is_the_same_map(desk: Client) -> None:
    one = with_map(FULL)
    before = current(one)
    looked = look(desk, url_of(one))
    assert "Nothing is saved yet" in words_of(looked)
    save(desk, url_of(one), looked)
    assert current(one).content == before.content
    assert current(one).number == before.number


def test_a_new_fuse_is_assumed_until_somebody_measured(desk: Client) -> None:
    one = with_map(FULL)
    typed = {"fuses-2-id": "F33", "fuses-2-rating_a": "15", "fuses-2-feed": "30"}
    save(desk, url_of(one), look(desk, url_of(one), **typed))
    # "assumed" is the default and is not written out.
    assert current(one).content["fuses"][2] == {
        "id": "F33",
        "feed": "terminal:30",
        "rating_a": 15.0,
    }


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"fuses-0-feed": "F99"}, 'Fuse 1, Fed from: "F99" does not fit: a point is written'),
        ({"fuses-0-feed": "fuse F99"}, "“fuse:F99” is not on the feed map. It has these fuses"),
        ({"fuses-2-id": "F08"}, "Fuse 3, Label: “F08” is already used"),
        ({"fuses-1-id": "", "fuses-1-rating_a": "5"}, "Give it the name that stands on the lid"),
        ({"fuses-0-rating_a": "ten"}, "“ten” is not a number"),
        ({"fuses-0-row": "1.5"}, "Row: 1.5 must be a whole number"),
        ({"relays-0-coil_ground": "S1"}, "“switch:S1” does not switch a ground"),
        ({"terminals-2-id": "31"}, "Terminal 31 is a ground return and feeds nothing."),
        ({"charge_lands": ""}, "The map records no charge line from the coach"),
        ({"fuses-1-feed": "own"}, "“own” is the battery of a fitted part"),
    ],
)
def test_what_is_wrong_stands_at_its_field(
    desk: Client, typed: dict[str, str], sentence: str
) -> None:
    one = with_map(FULL)
    before = current(one)
    answer = look(desk, url_of(one), **typed)
    assert sentence in words_of(answer)
    assert all(sent_back(answer)[name] == [value] for name, value in typed.items())
    assert current(one) == before


def test_feeds_in_a_circle_are_named(desk: Client) -> None:
    one = with_map(FULL)
    answer = look(desk, url_of(one), **{"fuses-0-feed": "F21", "fuses-1-feed": "F08"})
    assert "These feed each other in a circle and have no source" in words_of(answer)


def test_a_map_of_a_range_starts_empty_and_technicians_do_not_find_it(
    desk: Client, technician: Client
) -> None:
    one = a_crestline()
    FeedMapRevision.objects.all().delete()
    url = reverse("desk:feed_map_revise", args=["range", one.model_range_id])
    assert "this will be the first revision" in words_of(desk.get(url))
    typed = {"terminals-0-id": "30", "fuses-0-id": "F1", "fuses-0-feed": "30"}
    save(desk, url, look(desk, url, **typed))
    made = FeedMapRevision.objects.get()
    assert (made.model_range_id, made.vehicle_id) == (one.model_range_id, None)
    assert technician.get(url).status_code == 404
