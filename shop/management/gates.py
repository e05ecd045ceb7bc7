"""The `gates` command: every check that needs no test run; one line each, all of them always."""

import os
import re
import secrets
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# The policy headers forbid these in a browser, where the mistake would be silent.
INLINE = re.compile(
    r"<[^>]*\s(?:style|on\w+)\s*=|<style|<script(?![^>]*\ssrc=)(?![^>]*json)", re.IGNORECASE
)
MANAGE = [sys.executable, "manage.py"]
GATES = {
    "ruff check": [sys.executable, "-m", "ruff", "check", "."],
    "ruff format": [sys.executable, "-m", "ruff", "format", "--check", "."],
    "mypy": [sys.executable, "-m", "mypy", "manage.py", "shop", "installs", "vehicles", "tests"],
    "lint-imports": [str(Path(sys.executable).with_name("lint-imports"))],
    "djlint": [sys.executable, "-m", "djlint", "--lint", "--quiet", "templates"],
    "migrations": [*MANAGE, "makemigrations", "--check", "--dry-run"],
    "check --deploy": [*MANAGE, "check", "--deploy", "--fail-level", "WARNING"],
}


def main(arguments: Sequence[str]) -> int:
    """Run all gates, or those named; print what a failing one said. Return the exit code."""
    unknown = [name for name in arguments if name not in {*GATES, "inline"}]
    if unknown:
        sys.exit(f"No gate is called {unknown[0]}; there are: {', '.join(GATES)}, inline.")
    failed = 0
    with tempfile.TemporaryDirectory() as var:
        environment = {**os.environ, **_production(var)}
        for name, command in GATES.items():
            if arguments and name not in arguments:
                continue
            done = subprocess.run(
                command,
                cwd=ROOT,
                check=False,
                capture_output=True,
                text=True,
                env=environment if name == "check --deploy" else None,
            )
            failed += _report(name, "" if not done.returncode else done.stdout + done.stderr)
    if not arguments or "inline" in arguments:
        failed += _report("inline", "\n".join(inline_code(ROOT)))
    return 1 if failed else 0


def inline_code(root: Path) -> Iterator[str]:
    """Yield a line for each inline style, script or handler in the templates under `root`."""
    for file in sorted(root.glob("templates/**/*.html")):
        # An HTML mail is the exception: mail programs know no style sheets.
        if file.relative_to(root).parts[1] == "mail":
            continue
        text = file.read_text()
        for found in INLINE.finditer(text):
            number = text.count("\n", 0, found.end()) + 1
            yield f"{file.relative_to(root)}:{number}: {' '.join(found[0].split())}"


def _report(name: str, complaint: str) -> int:
    print(f"{'failed' if complaint else 'passed'}  {name}", flush=True)
    if complaint:
        print(complaint.rstrip(), flush=True)
    return 1 if complaint else 0


def _production(var: str) -> dict[str, str]:
    """Return an environment as a shop would set it, to check the settings that matter there."""
    return {
        "PULLPIN_MODE": "production",
        "PULLPIN_VAR": var,
        "SECRET_KEY": secrets.token_urlsafe(50),
        "ALLOWED_HOSTS": "shop.example",
        "SHOP_URL": "https://shop.example",
    }
