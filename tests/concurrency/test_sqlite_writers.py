"""Real processes on the embedded database: nobody is refused, however many write at once."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

PROCESSES = 6
TRANSACTIONS = 100
WRITER = f"""
import django
django.setup()
from django.db import connection, transaction
with connection.cursor() as cursor:
    for _ in range({TRANSACTIONS}):
        with transaction.atomic():
            cursor.execute("SELECT value FROM counter")
            (seen,) = cursor.fetchone()
            cursor.execute("UPDATE counter SET value = %s", [seen + 1])
print("done")
"""
ASK = """
import django
django.setup()
from django.db import connection
with connection.cursor() as cursor:
    for name in ("journal_mode", "busy_timeout", "synchronous", "foreign_keys"):
        cursor.execute(f"PRAGMA {name}")
        print(name, cursor.fetchone()[0])
"""
MAKE = """
import django
django.setup()
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute("CREATE TABLE counter (value integer)")
    cursor.execute("INSERT INTO counter VALUES (0)")
"""
READ = """
import django
django.setup()
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute("SELECT value FROM counter")
    print(cursor.fetchone()[0])
"""


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """Return the embedded default in a folder of its own: the settings as shipped, no test's."""
    return {
        "PATH": os.environ["PATH"],
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "PULLPIN_VAR": str(tmp_path / "var"),
    }


def start(code: str, environment: dict[str, str]) -> subprocess.Popen[str]:
    root = Path(__file__).resolve().parents[2]
    return subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=root,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def run(code: str, environment: dict[str, str]) -> str:
    process = start(code, environment)
    said, _ = process.communicate(timeout=60)
    assert process.returncode == 0, said
    return said


def test_six_processes_that_read_then_write_are_never_refused(environment: dict[str, str]) -> None:
    run(MAKE, environment)

    writers = [start(WRITER, environment) for _ in range(PROCESSES)]

    said = [writer.communicate(timeout=120)[0].strip() for writer in writers]
    assert said == ["done"] * PROCESSES
    assert int(run(READ, environment)) == PROCESSES * TRANSACTIONS


def test_the_file_has_the_settings_that_make_it_so(environment: dict[str, str]) -> None:
    said = run(ASK, environment)

    # 1 stands for NORMAL: with WAL, a power cut may lose the last commits but tears nothing.
    assert said.splitlines() == [
        "journal_mode wal",
        "busy_timeout 20000",
        "synchronous 1",
        "foreign_keys 1",
    ]
