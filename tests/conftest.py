"""What all tests share: the rounds they run in, and the services that the `test` command starts."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from hypothesis import settings

# A first call that loads a library is slow once; CI must not find a new input on one day only.
settings.register_profile("suite", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("suite")

HERE = Path(__file__).parent
# These start servers, browsers or processes to be killed: they run one by one, after the others.
ALONE = {"browser", "commands", "compose", "concurrency", "crash"}
SERVICES = {"postgresql": "PostgreSQL", "redis": "Redis", "chromium": "Chromium"}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--database-only", action="store_true", help="only tests that use the database"
    )


@pytest.hookimpl(tryfirst=True)  # before pytest looks at the markers
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        folder = item.path.relative_to(HERE).parts[0] if item.path.is_relative_to(HERE) else ""
        if folder in ALONE:
            item.add_marker("alone")
    if config.getoption("--database-only"):
        others = [item for item in items if not _uses_database(item)]
        config.hook.pytest_deselected(items=others)
        items[:] = [item for item in items if _uses_database(item)]


def _uses_database(item: pytest.Item) -> bool:
    fixtures = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
    return bool(fixtures) or item.get_closest_marker("django_db") is not None


def _service(name: str) -> str:
    """Return where the service is, or skip; where services are required, fail instead."""
    found = os.environ.get(f"TEST_{SERVICES[name].upper()}", "")
    if not found:
        sentence = f"{SERVICES[name]} is not here, or not started by `manage.py test`."
        if os.environ.get("REQUIRE_SERVICES") == "1":
            pytest.fail(sentence)
        pytest.skip(sentence)
    return found


@pytest.fixture(scope="session")
def postgresql_url() -> str:
    """Return the DATABASE_URL of an empty private PostgreSQL server whose user may do anything."""
    return _service("postgresql")


@pytest.fixture(scope="session")
def redis_url() -> str:
    """Return the REDIS_URL of a private Redis server."""
    return _service("redis")


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Return the path of the installed Chromium."""
    return _service("chromium")


@pytest.fixture(scope="session", autouse=True)
def _flush_empties_the_log_too() -> Iterator[None]:
    """Let the emptying of tables between tests pass the trigger that guards the log on SQLite.

    PostgreSQL empties by TRUNCATE, which the trigger does not see.
    """
    if connection.vendor != "sqlite":
        yield
        return
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    operations = type(connection.ops)
    flush = operations.execute_sql_flush

    def flush_unguarded(self: Any, sql_list: list[str]) -> None:
        with self.connection.cursor() as cursor:
            guards = list(cursor.execute(triggers))
            for name, _ in guards:
                cursor.execute(f"DROP TRIGGER {name}")
            flush(self, sql_list)
            for _, sql in guards:
                cursor.execute(sql)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(operations, "execute_sql_flush", flush_unguarded)
        yield
