"""Judge one vehicle sheet from a file, without a database."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any, NoReturn

from django.core.management.base import BaseCommand

from installs.domain.needs import judge
from installs.domain.report import as_json, lines
from installs.domain.sheet import Sheet, SheetFaults, parse_sheet

NOTHING_BLOCKS, SOMETHING_BLOCKS, WRONG_SHEET = 0, 1, 2


class Command(BaseCommand):
    """``manage.py judge FILE [--json]``"""

    help = (
        "Judge a vehicle sheet without a database: for each port and state the answer, the "
        "reasons, the findings and their cures. Exit code 0: nothing blocks the sign-off; "
        "1: something does; 2: the file cannot be read or is no proper vehicle sheet."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take the file and the form of the answer."""
        parser.add_argument("file", help="a vehicle sheet (JSON); - reads standard input")
        parser.add_argument("--json", action="store_true", help="answer as one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Judge the file and leave with the exit code that the help names."""
        sheet = self._read(options["file"])
        judgement = judge(sheet)
        if options["json"]:
            told = as_json(sheet, judgement)
            self.stdout.write(json.dumps(told, indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(lines(sheet, judgement)))
        sys.exit(SOMETHING_BLOCKS if judgement.blocked else NOTHING_BLOCKS)

    def _read(self, name: str) -> Sheet:
        try:
            data = json.loads(
                _text(name), object_pairs_hook=_without_doubles, parse_constant=_no_number
            )
            return parse_sheet(data)
        except OSError as error:
            self._refuse(f"{name} cannot be read: {error.strerror or error}.")
        except UnicodeDecodeError:
            self._refuse(f"{name} is not text in UTF-8.")
        except json.JSONDecodeError as error:
            self._refuse(
                f"{name} is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
            )
        except _NoNumberError as error:
            self._refuse(f"{name}: {error} is no number.")
        except RecursionError:
            self._refuse(f"{name} is nested too deeply to be a vehicle sheet.")
        except _DoubledKeyError as error:
            self._refuse(f"{name}: the name “{error}” stands twice in one group.")
        except SheetFaults as error:
            count = len(error.faults)
            noun = "fault" if count == 1 else "faults"
            self._refuse(f"{name}: {count} {noun}.", *(str(fault) for fault in error.faults))

    def _refuse(self, *sentences: str) -> NoReturn:
        for sentence in sentences:
            self.stderr.write(sentence)
        sys.exit(WRONG_SHEET)


class _DoubledKeyError(ValueError):
    pass


class _NoNumberError(ValueError):
    pass


def _no_number(text: str) -> NoReturn:
    # NaN and Infinity are no JSON; let in, they would slip through every comparison.
    raise _NoNumberError(text)


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse a key written twice: the reader would otherwise drop the first without a word."""
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _DoubledKeyError(key)
        found[key] = value
    return found


def _text(name: str) -> str:
    if name == "-":
        return sys.stdin.read()
    return Path(name).read_text(encoding="utf-8-sig")
