"""Measure what the project promises to keep, as ratios within one run."""

import contextlib
import json
import os
import subprocess
import sys
import tempfile
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.management import benches, servers

HEAD = f"{'figure':<52} {'database':<11} {'scale':<22} {'value':>11} {'limit':>9} unit"


class Command(BaseCommand):
    """Run each file of benches on a fresh SQLite file and, where present, a private PostgreSQL."""

    help = "Measure on both databases; a figure over its limit makes the exit code 1."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take what to run and how to print it."""
        parser.add_argument("words", nargs="*", help="only files whose name contains one of these")
        parser.add_argument("--json", action="store_true", help="print one object a figure")
        parser.add_argument("--sqlite-only", action="store_true")
        # How the command starts itself, once per file and database.
        parser.add_argument("--inside", nargs=2, metavar=("FILE", "DATABASE"))

    def handle(self, *args: str, **options: Any) -> None:
        """Print the figures as they come."""
        if options["inside"]:
            return run_inside(Path(options["inside"][0]), options["inside"][1])
        words = options["words"]
        files = [f for f in benches.bench_files() if not words or any(w in f.stem for w in words)]
        if not options["json"]:
            print(HEAD)
        over = 0
        for figure in measure(files, postgresql=not options["sqlite_only"]):
            over += benches.is_over(figure)
            print(json.dumps(figure) if options["json"] else row(figure), flush=True)
        if over:
            raise CommandError(f"{over} figures are over their limit.")
        return None


def measure(files: list[Path], *, postgresql: bool) -> Iterator[dict[str, Any]]:
    """Yield the figures of all files, each file in a process and a database of its own."""
    with contextlib.ExitStack() as stack:
        server = stack.enter_context(servers.postgresql()) if postgresql and files else None
        var = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="pullpin-bench-")))
        if postgresql and files and server is None:
            print("Not measured: PostgreSQL, which is not installed.", file=sys.stderr)
        for file in files:
            yield from _measure_file(file, "sqlite", f"sqlite:///{var / file.stem}.sqlite3", var)
            if server:
                _create_database(server, file.stem)
                url = server.removesuffix("postgres") + file.stem
                yield from _measure_file(file, "postgresql", url, var)


def _measure_file(file: Path, database: str, url: str, var: Path) -> Iterator[dict[str, Any]]:
    environment = {
        **os.environ,
        "PULLPIN_MODE": "embedded",
        "PULLPIN_MAIL": "maildir",
        "PULLPIN_VAR": str(var),
        "DATABASE_URL": url,
        "REDIS_URL": "",
        "LOG_LEVEL": "ERROR",
    }
    command = [sys.executable, "manage.py", "bench", "--inside", str(file), database]
    with subprocess.Popen(
        command, cwd=settings.BASE_DIR, env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        yield from map(json.loads, process.stdout or ())
    if process.returncode:
        raise CommandError(f"{file.name} failed on {database}, see above.")


def _create_database(server: str, name: str) -> None:
    import psycopg  # noqa: PLC0415 -- only where a server runs
    from psycopg import sql  # noqa: PLC0415 -- the same

    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))


def run_inside(file: Path, database: str) -> None:
    """Migrate this process's fresh database, run the file's benches, print a line a figure."""
    call_command("migrate", verbosity=0)
    for bench in benches.benches_in(file):
        for figure in benches.figures_of(bench, database):
            print(json.dumps(figure), flush=True)


def row(figure: dict[str, Any]) -> str:
    """Return a figure as a line of the table."""
    limit = "" if figure["limit"] is None else f"{figure['limit']:g}"
    mark = "  OVER" if benches.is_over(figure) else ""
    return (
        f"{figure['name']:<52} {figure['database']:<11} {figure['scale']!s:<22} "
        f"{figure['value']:>11.4g} {limit:>9} {figure['unit']}{mark}"
    )
