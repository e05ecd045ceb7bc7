"""What the due tick costs: it must follow what is due, not what is stored."""

import json
import resource
import shutil
import sys
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from math import inf
from typing import Any

import psycopg
from django.db import connection, connections, models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.utils import load_backend
from psycopg import sql

from installs.models import Component, Fitting
from shop.outbox.models import OutgoingMail
from shop.people.models import Customer, EmailAddress, Ownership
from shop.reminders.models import DueItem, Reminder
from shop.reminders.services import run_tick
from shop.reminders.services.digest import Digest, Written, write_digest
from tests.factories.installs import KindFactory
from tests.factories.reminders import RuleFactory
from vehicles.models import Vehicle

DAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 17, tzinfo=UTC)
NEXT = date(2026, 3, 23)
FAR = date(2027, 3, 2)
DUE, RULES = 2_000, 5
SMALL, LARGE = 10_000, 1_000_000
# The customers with something due lie scattered among all the others.
SPREAD = LARGE // SMALL
RUNS = 5
# About as long as a rendered digest, so that both sides write rows of the same size.
WRITTEN = Written("2021 Larkspur Fjord: service reminder", "text " * 250, "<p>html</p> " * 250)


def bench_due_tick(database: str) -> list[dict[str, Any]]:
    """Time the tick with 2,000 customers due among 10,000 and among 1,000,000 stored items."""
    KindFactory(id=1)
    for pk in range(1, RULES + 1):
        RuleFactory(id=pk)
    store(f"SELECT i * {SPREAD} FROM n", SMALL // RULES, due=True)
    small = copied_database(database)
    large = connections["default"]
    store(f"SELECT i FROM n WHERE i / {SPREAD} * {SPREAD} <> i", LARGE // RULES, due=False)
    taken = measure(small, large)
    scale = f"{DUE} due of {LARGE}"
    found = [
        figure(
            "due tick, stored 1,000,000 against 10,000", ratio(taken, "whole"), "times", 1.3, scale
        )
    ]
    for stored in (SMALL, LARGE):
        bare, by_hand = taken["without_rendering", stored], taken["by_hand", stored]
        scale = f"{DUE} due of {stored}"
        found += [
            figure("tick without rendering against SQL", bare / by_hand, "times", 10, scale),
            figure("due tick", taken["whole", stored] * 1000, "ms", None, scale),
            figure("tick without rendering", bare * 1000, "ms", None, scale),
            figure("the same rows by hand-written SQL", by_hand * 1000, "ms", None, scale),
        ]
    return [*found, figure("memory of the tick, peak", peak_mb(), "MB", 300, scale)]


def ratio(taken: dict[tuple[str, int], float], kind: str) -> float:
    return taken[kind, LARGE] / taken[kind, SMALL]


def copied_database(database: str) -> BaseDatabaseWrapper:
    """Copy the database as it stands; return a connection to the copy.

    Both are then measured in turns: a machine that is busy for a while slows both alike.
    """
    here = connections["default"]
    name = str(here.settings_dict["NAME"])
    here.close()
    if database == "sqlite":
        shutil.copyfile(name, f"{name}.small")
        copy = f"{name}.small"
    else:
        copy = f"{name}_small"
        given = {**here.get_connection_params(), "dbname": "postgres"}
        keys = ("host", "port", "user", "password", "dbname")
        told = {key: given[key] for key in keys if given.get(key)}
        with psycopg.connect(**told, autocommit=True) as server:
            statement = sql.SQL("CREATE DATABASE {} TEMPLATE {}")
            server.execute(statement.format(sql.Identifier(copy), sql.Identifier(name)))
    backend = load_backend(here.settings_dict["ENGINE"])
    wrapper: BaseDatabaseWrapper = backend.DatabaseWrapper(
        {**here.settings_dict, "NAME": copy}, "default"
    )
    return wrapper


def figure(name: str, value: float, unit: str, limit: float | None, scale: str) -> dict[str, Any]:
    return {"name": name, "value": value, "unit": unit, "limit": limit, "scale": scale}


def peak_mb() -> float:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def measure(small: BaseDatabaseWrapper, large: BaseDatabaseWrapper) -> dict[tuple[str, int], float]:
    """Return the least disturbed run of each kind on each database, in seconds."""
    kinds: tuple[Callable[[], None], ...] = (whole, *(without_rendering, by_hand) * 3)
    taken: dict[tuple[str, int], float] = {}
    for wrapper in (small, large):
        connections["default"] = wrapper
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    due = list(DueItem.objects.filter(contact_on__lte=DAY).values_list("pk", flat=True))
    for _ in range(RUNS):
        for stored, wrapper in ((SMALL, small), (LARGE, large)):
            connections["default"] = wrapper
            for kind in kinds:
                began = time.perf_counter()
                kind()
                key = kind.__name__, stored
                taken[key] = min(taken.get(key, inf), time.perf_counter() - began)
                put_back(due)
    return taken


def whole() -> None:
    say(write_digest)


def without_rendering() -> None:
    say(lambda digest: WRITTEN)


def say(render: Callable[[Digest], Written]) -> None:
    report = run_tick(now=NOW, today=DAY, render=render)
    if (report.digests, report.said) != (DUE, DUE):
        raise ValueError(f"The bench measures something else: {report}")


def by_hand() -> None:
    """Write the same rows as the tick, each table by one statement."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            """
            INSERT INTO outbox_outgoingmail (key, kind, category, customer_id, to_address, to_name,
                subject, text, html, headers, message_id, after_crash, state, not_before,
                send_before, attempts, crashes, claim_token, last_error, withheld_why)
            SELECT 'digest:' || i.customer_id || ':2026-03-02:service', 'digest', 'service',
                i.customer_id, e.address, c.name, %s, %s, %s, %s,
                '<' || i.id || '.17640@quillcreek.example>', 'repeat_once', 'queued', %s, %s,
                0, 0, '', '', ''
            FROM reminders_dueitem i
            JOIN people_customer c ON c.id = i.customer_id
            JOIN people_emailaddress e ON e.customer_id = c.id
            WHERE i.contact_on <= %s AND i.state = 'open'
            """,
            [WRITTEN.subject, WRITTEN.text, WRITTEN.html, HEADERS, NOW, NOW, DAY],
        )
        cursor.execute(
            """
            INSERT INTO reminders_reminder (item_id, nth, "on", mail_id)
            SELECT i.id, i.mails_sent + 1, %s, m.id
            FROM reminders_dueitem i
            JOIN outbox_outgoingmail m
                ON m.key = 'digest:' || i.customer_id || ':2026-03-02:service'
            WHERE i.contact_on <= %s AND i.state = 'open'
            """,
            [DAY, DAY],
        )
        cursor.execute(
            """
            UPDATE reminders_dueitem SET mails_sent = mails_sent + 1, contact_on = %s, silence = ''
            WHERE contact_on <= %s AND state = 'open'
            """,
            [NEXT, DAY],
        )


HEADERS = json.dumps({"List-Unsubscribe": "x" * 500})


def put_back(due: list[int]) -> None:
    """Take back what was said, so that the next run finds the same."""
    for model in (Reminder, OutgoingMail):
        model.objects.all()._raw_delete("default")
    DueItem.objects.filter(pk__in=due).update(contact_on=DAY, mails_sent=0, silence="")


def store(numbers: str, up_to: int, *, due: bool) -> None:
    """Store customers, vehicles and parts under `numbers`, chosen from 1 to `up_to`.

    Each has five items. One of them is due today where `due`, all others in a year.
    """
    known: dict[type[models.Model], dict[str, Any]] = {
        Customer: {"name": "'Wren Alder ' || i", "time_zone": "'America/Denver'"},
        EmailAddress: {"customer_id": "i", "address": "'wren' || i || '@mail.example'"},
        Vehicle: {"kind": "'towed'", "make": "'Larkspur'", "model": "'Fjord'", "year": "2021"},
        Ownership: {"customer_id": "i", "vehicle_id": "i", "since": date(2020, 1, 1)},
        Component: {"kind_id": "1", "serial": "'BB-' || i"},
        Fitting: {"component_id": "i", "vehicle_id": "i", "since": date(2025, 3, 2)},
    }
    for model, columns in known.items():
        insert_numbered(model, numbers, up_to, {"id": "i", **columns})
    for rule in range(1, RULES + 1):
        is_due = due and rule == 1
        insert_numbered(
            DueItem,
            numbers,
            up_to,
            {
                "rule_id": str(rule),
                "rule_version": "1",
                "vehicle_id": "i",
                "fitting_id": "i",
                "customer_id": "i",
                "anchor_key": "'fitted:' || i",
                "anchor_on": date(2025, 3, 2),
                "due_on": DAY if is_due else FAR,
                "reason": "'12 months after it was fitted on 2 March 2025'",
                "category": "'service'",
                "contact_on": DAY if is_due else FAR,
            },
        )


def insert_numbered(
    model: type[models.Model], numbers: str, up_to: int, columns: dict[str, Any]
) -> None:
    """Insert a row for each number i; texts in `columns` are SQL, other values stand for all."""
    names, chosen, values = [], [], []
    for field in model._meta.concrete_fields:
        if field.attname in columns:
            given = columns[field.attname]
        elif field.primary_key or field.has_db_default() or field.null:
            continue
        else:
            given = ("constant", field.get_db_prep_save(field.get_default(), connection))
        names.append(connection.ops.quote_name(str(field.column)))
        if isinstance(given, str):
            chosen.append(given)
        else:
            chosen.append("%s")
            values.append(given[1] if isinstance(given, tuple) else given)
    with connection.cursor() as cursor:
        cursor.execute(
            "WITH RECURSIVE n(i) AS"
            f" (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {up_to}), chosen(i) AS ({numbers})"
            f" INSERT INTO {connection.ops.quote_name(model._meta.db_table)} ({', '.join(names)})"
            f" SELECT {', '.join(chosen)} FROM chosen",
            values,
        )
