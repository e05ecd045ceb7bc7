"""What of a sheet is done, what holds the rest, and what still stands between it and closing.

A hold point holds everything after it on the sheet until it is settled, and is itself settled only
after everything before it. The same rule is kept by the service that takes answers and, once
more, by the database.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from installs.domain.bay.status import Status
from installs.domain.bay.template import STAGES


class StepState(StrEnum):
    """How one step stands."""

    OPEN = "open"
    PASSED = "passed"
    FAILED = "failed"
    DECLINED = "declined"
    NOT_APPLICABLE = "not_applicable"
    # Two people answered it without having seen each other's answer.
    CONTESTED = "contested"
    # What it proved has changed since: it is to be answered anew.
    AGAIN = "again"


STATE_WORDS = {
    StepState.OPEN: "open",
    StepState.PASSED: "passed",
    StepState.FAILED: "failed",
    StepState.DECLINED: "declined in writing",
    StepState.NOT_APPLICABLE: "does not apply",
    StepState.CONTESTED: "two answers",
    StepState.AGAIN: "to be done again",
}
SETTLED = frozenset({StepState.PASSED, StepState.DECLINED, StepState.NOT_APPLICABLE})


@dataclass(frozen=True, slots=True)
class Line:
    """One step of a sheet as progress sees it, in the order of the sheet."""

    key: str
    stage: str
    words: str
    hold: bool
    state: str
    after: tuple[str, ...] = ()

    @property
    def settled(self) -> bool:
        """Passed, declined in writing, or found not to apply."""
        return self.state in SETTLED


@dataclass(frozen=True, slots=True)
class Count:
    """How much of a stage is settled."""

    stage: str
    settled: int
    of: int

    @property
    def done(self) -> bool:
        """Nothing of the stage is open."""
        return self.settled == self.of


def waits(lines: Sequence[Line], key: str) -> list[str]:
    """Return sentences that say what must be done before `key`; [] where nothing must.

    Raises KeyError where `key` is not on the sheet.
    """
    at = next((at for at, line in enumerate(lines) if line.key == key), None)
    if at is None:
        raise KeyError(key)
    earlier, line = lines[:at], lines[at]
    open_ones = [other for other in earlier if not other.settled]
    held = next((other for other in open_ones if other.hold), None)
    if held:
        return [f"Hold point, first: {held.words}"]
    if line.hold and open_ones:
        more = len(open_ones) - 1
        rest = f" (and {more} more)" if more else ""
        return [f"This is a hold point; before it: {open_ones[0].words}{rest}"]
    return [f"First: {other.words}" for other in open_ones if other.key in line.after]


def next_open(lines: Sequence[Line], after: str = "") -> Line | None:
    """Return the next step that can be answered, from `after` on and then from the start."""
    start = next((at + 1 for at, line in enumerate(lines) if line.key == after), 0)
    reach = _reach(lines)
    order = (*range(start, len(lines)), *range(start))
    return next((lines[at] for at in order if at in reach), None)


def _reach(lines: Sequence[Line]) -> set[int]:
    """Return the places of the steps that can be answered now."""
    reach: set[int] = set()
    unsettled: set[str] = set()
    for at, line in enumerate(lines):
        if line.settled:
            continue
        if not (unsettled if line.hold else unsettled & set(line.after)):
            reach.add(at)
        if line.hold:
            break
        unsettled.add(line.key)
    return reach


def counts(lines: Iterable[Line]) -> tuple[Count, ...]:
    """Return how much of each stage is settled, for the stages that have steps."""
    found = []
    for stage in STAGES:
        mine = [line for line in lines if line.stage == stage]
        if mine:
            found.append(Count(stage, sum(line.settled for line in mine), len(mine)))
    return tuple(found)


def status_by_progress(lines: Sequence[Line]) -> Status:
    """Return where a job in hand stands by its sheet."""
    done = {count.stage: count.done for count in counts(lines)}
    if not (done.get("before", True) and done.get("fit", True)):
        return Status.IN_HAND
    return Status.TO_BE_HANDED_OVER if done.get("prove", True) else Status.TO_BE_PROVEN


def closing_faults(lines: Iterable[Line]) -> list[str]:
    """Return a sentence for each step that keeps the job from being closed."""
    told = {
        StepState.OPEN: "not done yet",
        StepState.FAILED: "failed; mend it and measure again, or have it declined in writing",
        StepState.CONTESTED: "two answers; look again and give the one that holds",
        StepState.AGAIN: "to be done again, because something changed since",
    }
    return [f"{line.words}: {told[StepState(line.state)]}." for line in lines if not line.settled]
