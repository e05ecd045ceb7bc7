"""The `test` command: the whole suite, on each database that is here, with servers of its own.

Three rounds: the main one on SQLite over all cores; the tests that need a process of their own
(browser, real servers, kill -9); and the database tests again on PostgreSQL. A test that needs a
server finds it through a fixture of tests/conftest.py.
"""

import argparse
import contextlib
import os
import re
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import NoReturn

from . import servers, system

ROOT = Path(__file__).resolve().parents[2]
NO_TESTS = 5  # pytest's exit code when nothing was selected, as with `-k` in some of the rounds
CLOSING = re.compile(r"(\d+) (passed|failed|errors?|skipped|xfailed|xpassed)")
TRY = {
    "PostgreSQL": "apt-get install postgresql, or brew install postgresql",
    "Redis": "apt-get install redis-server, or brew install redis",
    "Chromium": "apt-get install chromium, or brew install --cask chromium",
}


@dataclass
class Total:
    """What all rounds together came to."""

    counts: Counter[str] = field(default_factory=Counter)
    broken: list[str] = field(default_factory=list)
    began: float = field(default_factory=time.monotonic)

    def line(self) -> str:
        """Return the closing line, worded as pytest words its own."""
        words = ("failed", "passed", "skipped", "xfailed", "xpassed", "error")
        told = ", ".join(
            f"{self.counts[word]} {word}"
            for word in words
            if self.counts[word] or word in {"failed", "passed"}
        )
        return f"{told} in {time.monotonic() - self.began:.0f}s"


def main(arguments: Sequence[str]) -> int:
    """Run the suite; unknown arguments go to pytest. Return the exit code."""
    parser = argparse.ArgumentParser(prog="manage.py test", description=__doc__)
    parser.add_argument("--sqlite-only", action="store_true", help="no server, no browser")
    options, passed_on = parser.parse_known_args(arguments)
    must = os.environ.get("REQUIRE_SERVICES") == "1"
    signal.signal(signal.SIGTERM, _stop)  # so that the servers are ended as after Ctrl-C
    total = Total()
    with contextlib.ExitStack() as stack:
        found: dict[str, str | None] = dict.fromkeys(TRY)
        if not options.sqlite_only:
            found = {
                "PostgreSQL": stack.enter_context(servers.postgresql()),
                "Redis": stack.enter_context(servers.redis()),
                "Chromium": system.chromium(),
            }
        there = {name: value for name, value in found.items() if value}
        environment = {
            **os.environ,
            **{f"TEST_{name.upper()}": value for name, value in there.items()},
        }
        environment.pop("DATABASE_URL", None)
        # By group: tests that share something costly name it, and stay with one worker.
        workers = ["-n", str(os.cpu_count() or 1), "--dist", "loadgroup"]
        cores = workers if not _has_own_workers(passed_on) else []
        _round(total, "on SQLite", [*cores, "-m", "not alone"], passed_on, environment)
        _round(total, "in processes of their own", ["-m", "alone"], passed_on, environment)
        if "PostgreSQL" in there:
            again = {**environment, "DATABASE_URL": there["PostgreSQL"]}
            only = [*cores, "-m", "not alone", "--database-only"]
            _round(total, "the database tests on PostgreSQL", only, passed_on, again)
    return _close(total, [name for name in TRY if name not in there], must=must)


def _has_own_workers(arguments: Sequence[str]) -> bool:
    return any(argument.startswith(("-n", "--pdb", "--collect-only")) for argument in arguments)


def _round(
    total: Total,
    title: str,
    selection: Sequence[str],
    passed_on: Sequence[str],
    environment: dict[str, str],
) -> None:
    """Run pytest once, showing its lines as they come, and add up its closing line."""
    print(f"\n=== {title} ===", flush=True)
    command = [sys.executable, "-m", "pytest", *selection, *passed_on]
    last = ""
    with subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        for line in process.stdout or ():
            print(line, end="", flush=True)
            last = line if CLOSING.search(line) and " in " in line else last
    for number, word in CLOSING.findall(last):
        total.counts["error" if word == "errors" else word] += int(number)
    if process.returncode not in {0, NO_TESTS}:
        total.broken.append(title)


def _close(total: Total, missing: Sequence[str], *, must: bool) -> int:
    """Say in plain words what was not run, then the closing line."""
    print()
    for name in missing:
        print(f"Not run: what needs {name}, which is not here. To have it: {TRY[name]}.")
    failed = bool(total.broken)
    if missing and must:
        print("REQUIRE_SERVICES=1 asks for all of them, so this counts as a failure.")
        failed = True
    if not total.counts["passed"] and not failed:
        print("No test was selected.")
        failed = True
    for title in total.broken:
        print(f"Failed: {title}.")
    print(total.line())
    return 1 if failed else 0


def _stop(number: int, frame: FrameType | None) -> NoReturn:
    sys.exit(128 + number)
