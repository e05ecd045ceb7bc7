"""Values that a check wants: which must be given, and the least that lets a look count as good.

JSON form, stored with the check: ``[{"name": "held minutes", "least": 15}]``. A person writes one a
line: ``held minutes, at least 15``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from installs.domain.looks import GOOD
from vehicles.domain.plain import Plain

LONGEST_NAME = 60
MOST = 12
_LINE = re.compile(r"(?P<name>[^,:]+?)(?:,\s*at least\s+(?P<least>[0-9]+(?:\.[0-9]+)?))?")
_NUMBER = re.compile(r"[-+]?[0-9]+(?:\.[0-9]+)?")


@dataclass(frozen=True)
class Want(Plain):
    """One value by its name, and the least that is good where there is one."""

    name: str
    least: float | None = None

    @property
    def words(self) -> str:
        """As a person writes it, one a line."""
        return self.name if self.least is None else f"{self.name}, at least {self.least:g}"


def wants_of(stored: Iterable[Mapping[str, Any]]) -> list[Want]:
    """Read the stored form."""
    return [Want.from_dict(entry) for entry in stored]


def read_wants(lines: Sequence[str]) -> list[Want]:
    """Read what a person wrote. Raises ValueError with a sentence about the first wrong line."""
    found: list[Want] = []
    if len(lines) > MOST:
        raise ValueError(f"That is {len(lines)} values; a check wants at most {MOST}.")
    for line in lines:
        match = _LINE.fullmatch(line.strip())
        if not match or len(match["name"]) > LONGEST_NAME:
            raise ValueError(f"“{line}”: write a name, or: held minutes, at least 15")
        if match["name"].casefold() in (want.name.casefold() for want in found):
            raise ValueError(f"“{match['name']}” is there twice.")
        found.append(Want(match["name"], float(match["least"]) if match["least"] else None))
    return found


def value_faults(wants: Iterable[Want], values: Mapping[str, str], result: str) -> Iterator[str]:
    """What keeps a look with these values from being a good one; nothing where it is not.

    A value that nobody gave is not tested, and not tested never passes.
    """
    if result not in GOOD:
        return
    given = {name.casefold(): text for name, text in values.items()}
    for want in wants:
        text = given.get(want.name.casefold())
        if text is None:
            yield f"“{want.words}” is missing. Without it the check came to no result."
        elif want.least is not None:
            yield from _too_little(want, text, want.least)


def _too_little(want: Want, text: str, least: float) -> Iterator[str]:
    number = _NUMBER.match(text.strip())
    if number is None or not math.isfinite(float(number[0])):
        yield f"“{want.name}: {text}” does not begin with a number."
    elif float(number[0]) < least:
        yield f"“{want.name}: {text}” is less than {least:g}, so the part did not pass."
