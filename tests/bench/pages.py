"""What the page of a vehicle costs: it must not grow with the number of vehicles."""

import random
import statistics
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from installs.models import Component, ComponentKind, Fitting, Standing, Verification
from shop.people.models import Customer, Ownership, Phone
from shop.reminders.models import DueItem
from tests.bench.reminders import figure, insert_numbered
from tests.factories.desk import a_crestline, crestline
from tests.factories.people import UserFactory
from tests.factories.reminders import RuleFactory
from vehicles.models import Event, ModelRange, Reading, Vehicle

FEW, SMALL, LARGE = 100, 1_000, 100_000
# Vehicles of the bench are numbered from here on; the one that they are like stands before.
FIRST = 1_000
PARTS = 10
ROUNDS, REQUESTS = 7, 40
MOST_QUERIES = 12
DAY = date(2026, 3, 2)


def bench_vehicle_page(database: str) -> list[dict[str, Any]]:
    """Time the page among 1,000 and 100,000 vehicles, in turn with an empty page of the frame."""
    client = Client(headers={"host": "localhost"})
    client.force_login(UserFactory.create())
    like = a_crestline(fittings=many_parts())
    RuleFactory(id=1)
    store(like, 0, FEW)
    few_queries = queries(client, FEW)
    store(like, FEW, SMALL)
    small = measure(client, SMALL)
    store(like, SMALL, LARGE)
    queries_of_large = queries(client, LARGE)
    large = measure(client, LARGE)
    # Against the empty page beside it, which says how busy the machine was meanwhile.
    grown = large.times / small.times
    scale = f"{LARGE} vehicles"
    return [
        figure("vehicle page, queries", queries_of_large, "queries", MOST_QUERIES, scale),
        figure("vehicle page, queries", few_queries, "queries", MOST_QUERIES, f"{FEW} vehicles"),
        figure("vehicle page, p95 against itself at 1,000", grown, "times", 1.2, scale),
        figure("vehicle page, p95 against an empty page", large.times, "times", 12, scale),
        figure("vehicle page, p95", large.page * 1000, "ms", None, scale),
        figure("vehicle page, p95", small.page * 1000, "ms", None, f"{SMALL} vehicles"),
        figure("empty page of the same frame, p95", large.empty * 1000, "ms", None, scale),
    ]


@dataclass(frozen=True)
class Taken:
    """Seconds below which 95 % of the answers stay, and the one against the other."""

    page: float
    empty: float
    times: float


def many_parts() -> list[dict[str, Any]]:
    """Ten fittings: those of the crestline and transmitters besides."""
    known = crestline()["fittings"]
    more = [known[1] | {"id": f"M{n}", "serial": f"M-{n}"} for n in range(PARTS - len(known))]
    return known + more


def url_of(number: int) -> str:
    return reverse("desk:vehicle", args=[FIRST + number])


def queries(client: Client, count: int) -> int:
    """The queries of one page, the second time that it is asked for."""
    client.get(url_of(count // 2))
    with CaptureQueriesContext(connection) as captured:
        client.get(url_of(count // 3))
    return len(captured)


def measure(client: Client, count: int) -> Taken:
    """Ask for vehicle pages and empty pages in turn; the middle of several rounds counts."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    chosen = random.Random(7)
    one_round(client, count, chosen)
    rounds = [one_round(client, count, chosen) for _ in range(ROUNDS)]
    page, empty = (statistics.median(column) for column in zip(*rounds, strict=True))
    return Taken(page, empty, statistics.median(page / empty for page, empty in rounds))


def one_round(client: Client, count: int, chosen: random.Random) -> tuple[float, float]:
    empty_url = reverse("desk:find")
    taken = [
        (timed(client, url_of(chosen.randrange(1, count))), timed(client, empty_url))
        for _ in range(REQUESTS)
    ]
    page, empty = (at_95(column) for column in zip(*taken, strict=True))
    return page, empty


def timed(client: Client, url: str) -> float:
    began = time.perf_counter()
    response = client.get(url)
    taken = time.perf_counter() - began
    if response.status_code != 200:
        raise ValueError(f"{url} answered {response.status_code}.")
    return taken


def at_95(values: Sequence[float]) -> float:
    return sorted(values)[int(len(values) * 0.95)]


def constant(model: Any, name: str, value: Any) -> tuple[str, Any]:
    return ("constant", model._meta.get_field(name).get_db_prep_save(value, connection))


def store(like: Vehicle, before: int, count: int) -> None:
    """Bring the number of vehicles from `before` to `count`, each with owner and ten parts."""
    last = FIRST + count
    numbers = f"SELECT i FROM n WHERE i > {FIRST + before}"
    fittings = list(like.fittings.select_related("component").order_by("id"))
    one_each: dict[Any, dict[str, Any]] = {
        Customer: {"name": "'Wren Alder ' || i", "lookup": "'wren alder ' || i"},
        Phone: {"customer_id": "i", "typed": "'303 555 ' || i", "e164": "'+1303555' || i"},
        Vehicle: {
            "kind": "'towed'",
            "make": "'Alder'",
            "model": "'Crestline'",
            "year": "2019",
            "gearbox": "'automatic'",
            "plate": "'QC ' || i",
            "model_range_id": str(ModelRange.objects.get().pk),
            "lookup": "'alder crestline 2019 qc' || i",
        },
        Ownership: {"customer_id": "i", "vehicle_id": "i", "since": DAY},
        Standing: {"vehicle_id": "i", "proof": "'stale'", "judged_on": DAY},
        Verification: {
            "vehicle_id": "i",
            "basis": constant(Verification, "basis", {}),
            "fingerprint": "'other'",
            "proven_on": DAY,
            "signed_by": "'Robin Sedge'",
        },
        Reading: {
            "vehicle_id": "i",
            "what": "'odometer_km'",
            "value": "61000",
            "typed": "'37,904 mi'",
            "on": DAY,
            "by": "'Robin Sedge'",
        },
        DueItem: {
            "rule_id": "1",
            "rule_version": "1",
            "vehicle_id": "i",
            "customer_id": "i",
            "anchor_key": "'fitted:' || i",
            "anchor_on": DAY,
            "due_on": DAY,
            "reason": "'12 months after it was fitted on 2 March 2025'",
            "category": "'service'",
        },
    }
    for model, columns in one_each.items():
        insert_numbered(model, numbers, last, {"id": "i", **columns})
    for at, fitting in enumerate(fittings):
        kind: ComponentKind = fitting.component.kind
        insert_numbered(
            Component,
            numbers,
            last,
            {
                "id": f"i * {PARTS} + {at}",
                "kind_id": str(kind.pk),
                "serial": f"'S-' || (i * {PARTS} + {at})",
                "state": "'fitted'",
            },
        )
        insert_numbered(
            Fitting,
            numbers,
            last,
            {
                "id": f"i * {PARTS} + {at}",
                "component_id": f"i * {PARTS} + {at}",
                "vehicle_id": "i",
                "since": DAY,
                "ports": constant(Fitting, "ports", fitting.ports),
            },
        )
    for turn in range(3):
        insert_numbered(
            Event,
            numbers,
            last,
            {
                "id": f"i * 3 + {turn}",
                "actor": "'Mara Tennant'",
                "verb": "'changed vehicle'",
                "subject_type": "'vehicle'",
                "subject_id": "i",
                "subject": "'2019 Alder Crestline'",
                "vehicle_id": "i",
            },
        )
