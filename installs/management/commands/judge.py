"""Judge one vehicle sheet from a file, without a database."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any, NoReturn

from django.core.management.base import BaseCommand

from installs.domain.needs import judge
from installs.domain.numeric_findings import numeric_findings
from installs.domain.reckoned import reckon
from installs.domain.report import as_json, lines
from installs.domain.sheet import Sheet, SheetFaults, parse_sheet
from installs.domain.sheet_text import SheetTextError, read_sheet_text

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
        numbers = reckon(sheet, views=judgement.views)
        judgement = judgement.with_findings(numeric_findings(sheet, judgement, numbers, {}))
        if options["json"]:
            told = as_json(sheet, judgement)
            self.stdout.write(json.dumps(told, indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(lines(sheet, judgement)))
        sys.exit(SOMETHING_BLOCKS if judgement.blocked else NOTHING_BLOCKS)

    def _read(self, name: str) -> Sheet:
        try:
            data = read_sheet_text(_text(name))
            return parse_sheet(data)
        except OSError as error:
            self._refuse(f"{name} cannot be read: {error.strerror or error}.")
        except UnicodeDecodeError:
            self._refuse(f"{name} is not text in UTF-8.")
        except SheetTextError as error:
            self._refuse(f"{name} {error}")
        except SheetFaults as error:
            count = len(error.faults)
            noun = "fault" if count == 1 else "faults"
            self._refuse(f"{name}: {count} {noun}.", *(str(fault) for fault in error.faults))

    def _refuse(self, *sentences: str) -> NoReturn:
        for sentence in sentences:
            self.stderr.write(sentence)
        sys.exit(WRONG_SHEET)


def _text(name: str) -> str:
    if name == "-":
        return sys.stdin.read()
    return Path(name).read_text(encoding="utf-8-sig")
