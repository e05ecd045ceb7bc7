"""A place for processes that are killed: a database of their own and a mail server that counts."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import psycopg
import pytest

from tests.smtp import Sink, mail_server

CHILD = Path(__file__).with_name("child.py")
REPEAT, NEVER = "repeat_once", "never_repeat"


@dataclass
class Place:
    """Where the children work."""

    env: dict[str, str]
    sink: Sink

    def start(self, *steps: dict[str, Any]) -> "subprocess.Popen[str]":
        return subprocess.Popen(
            [sys.executable, str(CHILD), json.dumps(steps)],
            env=self.env,
            text=True,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def run(self, *steps: dict[str, Any], killed: bool = False) -> str:
        """Run the steps in one child, which must end as foreseen; return what it printed."""
        child = self.start(*steps)
        out, err = child.communicate(timeout=120)
        assert child.returncode == (-9 if killed else 0), err
        return out

    def tell(self, key: str, *first: dict[str, Any]) -> dict[str, Any]:
        """Return what the database holds under `key` once a child has done the `first` steps."""
        printed = self.run(*first, {"work": "tell", "key": key})
        told: dict[str, Any] = json.loads(printed.splitlines()[-1])
        return told


@pytest.fixture(scope="session")
def sqlite_database(tmp_path_factory: pytest.TempPathFactory) -> str:
    return f"sqlite:///{tmp_path_factory.mktemp('crash') / 'db.sqlite3'}"


@pytest.fixture(scope="session")
def postgresql_database(postgresql_url: str) -> Iterator[str]:
    with psycopg.connect(postgresql_url, autocommit=True) as connection:
        connection.execute("CREATE DATABASE crash")
        yield urlunsplit(urlsplit(postgresql_url)._replace(path="/crash"))
        connection.execute("DROP DATABASE crash WITH (FORCE)")


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def place(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Place]:
    """Each database in turn, migrated, with the mail server running."""
    database = request.getfixturevalue(f"{request.param}_database")
    with mail_server() as (sink, port):
        env = {
            "PATH": os.environ["PATH"],
            "DJANGO_SETTINGS_MODULE": "shop.settings",
            "DATABASE_URL": database,
            "PULLPIN_VAR": str(tmp_path_factory.mktemp("var")),
            "PULLPIN_MAIL": "smtp",
            "SMTP_HOST": "127.0.0.1",
            "SMTP_PORT": str(port),
            "LOG_LEVEL": "ERROR",
        }
        place = Place(env, sink)
        place.run({"work": "migrate"})
        yield place
