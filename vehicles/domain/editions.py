"""Two sources for one vehicle that disagree: where, in words."""

from __future__ import annotations

from collections.abc import Iterator

from vehicles.domain.procedure import LIMIT_WORDS, Limits, Procedure, Step

# Actions that decide what is alive or which way the wheels turn: their order counts as well.
BINDING = ("key", "fuse_out", "disconnect_open", "charge_connect", "gear", "transfer_case")


def conflicts(mine: Procedure, other: Procedure) -> list[str]:
    """Where ``other`` asks for something else than ``mine``, one sentence each; [] if nowhere.

    "It" is the other one. Which of the two holds is for the shop to decide.
    """
    told = []
    if mine.verdict != other.verdict:
        told.append(f"It says “{_plain(other.verdict)}”, not “{_plain(mine.verdict)}”.")
    return [*told, *_steps(mine, other), *_limits(mine.limits, other.limits)]


def _steps(mine: Procedure, other: Procedure) -> Iterator[str]:
    added, dropped = _beyond(other, mine), _beyond(mine, other)
    yield from (f"It asks for: {step.words}." for step in added)
    yield from (f"It does not ask for: {step.words}." for step in dropped)
    if not added and not dropped and _order(mine) != _order(other):
        yield "It asks for the same steps in another order."


def _beyond(one: Procedure, two: Procedure) -> list[Step]:
    """The steps that ``one`` has beyond those of ``two``; a step done twice counts twice."""
    there = [_deed(step) for step in two.steps]
    beyond = []
    for step in one.steps:
        if _deed(step) in there:
            there.remove(_deed(step))
        else:
            beyond.append(step)
    return beyond


def _deed(step: Step) -> tuple[str, str, str | float | None]:
    """What a step does, whatever its words; only of ``other`` the words say it."""
    return (step.action, step.target, step.text if step.action == "other" else step.value)


def _order(procedure: Procedure) -> list[tuple[str, str, str | float | None]]:
    return [_deed(step) for step in procedure.steps if step.action in BINDING]


def _limits(mine: Limits, other: Limits) -> Iterator[str]:
    for name, (words, unit) in LIMIT_WORDS.items():
        ours, theirs = getattr(mine, name), getattr(other, name)
        if ours != theirs:
            yield f"{words}: it says {_figure(theirs, unit)}, here {_figure(ours, unit)}."
    if mine.daily_repeat != other.daily_repeat:
        asks = "asks" if other.daily_repeat else "does not ask"
        yield f"It {asks} to do it all again every day."
    if mine.direction != other.direction:
        theirs, ours = (limits.direction or "nothing" for limits in (other, mine))
        yield f"Direction: it says {theirs}, here {ours}."


def _figure(value: float | None, unit: str) -> str:
    return "nothing" if value is None else f"{value:g}{unit}"


def _plain(verdict: str) -> str:
    return verdict.replace("_", " ")
