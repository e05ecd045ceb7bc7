"""Looks at fitted parts: which outcome satisfies, which tells of trouble, and what that stops.

A look is named by its check. Of each check only the latest look at a part that came to a result
counts: a good one cures an earlier bad one, and ``not_tested`` neither cures nor accuses.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from installs.domain.findings import Code, Cure, Finding, Severity
from installs.domain.intervals import in_words
from vehicles.domain.plain import Plain


class Duty(StrEnum):
    """What hangs on a kind of part; empty where nobody recorded it."""

    BRAKE = "brake"
    BREAKAWAY = "breakaway"
    STOP_LAMPS = "stop_lamps"
    SUPPLY = "supply"
    COUPLING = "coupling"
    OTHER = "other"


# What came of a look, in words that go on from the part's name.
GOOD = ("passed", "advice")
STOPPED: Mapping[str, str] = {"nothing": "did nothing", "failed": "failed"}
LESSENED: Mapping[str, str] = {"stiff": "was stiff", "weak": "was weak"}
NOT_TESTED = "not_tested"
OUTCOMES = (*GOOD, *LESSENED, *STOPPED, NOT_TESTED)
DO_NOT_TOW = "Do not tow until this is cured and looked at again."


@dataclass(frozen=True)
class SeenLook(Plain):
    """One look on a sheet: the check's code and name, the day as ISO date, the outcome."""

    check: str
    on: str
    result: str
    name: str = ""

    @property
    def day(self) -> date:
        """The day of the look."""
        return date.fromisoformat(self.on)

    @property
    def is_bad(self) -> bool:
        """Did it tell of trouble?"""
        return self.result in STOPPED or self.result in LESSENED


def outcome_words(result: str) -> str:
    """What came of a bad look, after the name of the part: ``did nothing``, ``was stiff``."""
    return STOPPED.get(result) or LESSENED[result]


def stops_towing(duty: str, result: str) -> bool:
    """Must a vehicle not be towed with a part of this duty that came out of a look like this?

    A part nobody said anything about is taken for one that braking hangs on.
    """
    return result in STOPPED and duty != Duty.OTHER


def standing_trouble(looks: Iterable[SeenLook]) -> list[SeenLook]:
    """The latest look of each check, where it was bad; of one day the one listed last."""
    latest: dict[str, SeenLook] = {}
    for look in sorted((x for x in looks if x.result != NOT_TESTED), key=lambda look: look.on):
        latest[look.check] = look
    return [look for look in latest.values() if look.is_bad]


def look_findings(
    looks: Iterable[SeenLook], *, part: str, duty: str, component: str, consequence: str = ""
) -> Iterator[Finding]:
    """What the standing trouble of one part means; ``component`` is the fitting's id.

    WARNING in any case, because what is weak today does nothing tomorrow (common practice, no
    source); it blocks where the part did nothing or failed and braking or holding hangs on it.
    """
    for look in standing_trouble(looks):
        blocking = stops_towing(duty, look.result)
        check = look.name or look.check
        why = f"{DO_NOT_TOW} {consequence}".strip() if blocking else consequence
        again = f"Repair or replace it as its maker says, then do “{check}” again."
        yield Finding(
            code=Code.FAILED_LOOK if look.result in STOPPED else Code.WEAK_LOOK,
            severity=Severity.WARNING,
            blocking=blocking,
            title=f"{part} {outcome_words(look.result)} on {in_words(look.day)} ({check}).",
            why=why,
            component=component,
            cures=(Cure("look_again", again, ("The next good look takes this away.",)),),
        )


def brake_unit_findings(parts: Iterable[tuple[str, str]]) -> Iterator[Finding]:
    """One finding where parts only work with a brake unit and none is fitted.

    ``parts`` are all that are fitted, as (name, duty). Parts of a household's shared unit stand
    on the sheet while the unit is in another car, so they are not missed here.
    """
    parts = list(parts)
    left = [name for name, duty in parts if duty in (Duty.BREAKAWAY, Duty.STOP_LAMPS)]
    if not left or any(duty == Duty.BRAKE for _, duty in parts):
        return
    *first, last = dict.fromkeys(left)
    names, verb = (f"{', '.join(first)} and {last}", "are") if first else (last, "is")
    yield Finding(
        code=Code.NO_BRAKE_UNIT,
        severity=Severity.WARNING,
        blocking=True,
        title=f"{names} {verb} fitted, but no brake unit.",
        why="Nothing presses the brakes of the towed vehicle.",
        cures=(Cure("fit", "Fit a brake unit and record its feed, or take off what is left."),),
    )
