"""Is it alive? Answers with their reasons, and how they combine.

An answer is never a bare yes or no: ``ON``, ``OFF``, ``TIMED`` (until so many minutes after
key-off), ``CONDITIONAL`` (on what), ``UNKNOWN`` (nobody measured or sourced it). It carries
the chain of links that led to it, from the source to the point, so that a technician can
follow it with a test lamp and find the same break.

``UNKNOWN`` is contagious where it decides: a dead link in series kills the circuit whatever
the others are, and a live branch in parallel feeds it whatever the others are; everywhere
else the unknown stays unknown and is never taken as good.

Answers and links are named tuples: one judgement makes hundreds of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import NamedTuple


class Value(StrEnum):
    """The five answers, in the words that screens and papers use."""

    ON = "ON"
    OFF = "OFF"
    TIMED = "TIMED"
    CONDITIONAL = "CONDITIONAL"
    UNKNOWN = "UNKNOWN"


class Link(NamedTuple):
    """One thing on the way that can be touched: a point, what is found there, and why.

    ``value`` is what this link by itself does (a pulled fuse is OFF though its supply is ON).
    """

    point: str
    words: str
    value: Value = Value.ON

    @property
    def is_break(self) -> bool:
        """True where the path ends: from here on a test lamp stays dark."""
        return self.value is Value.OFF


class Answer(NamedTuple):
    """``value`` with its minutes and conditions, and the links from source to point.

    ``until_minutes`` counts from key-off. A path that is both on a timer and on a condition
    is CONDITIONAL and keeps its minutes.
    """

    value: Value
    until_minutes: float | None = None
    conditions: tuple[str, ...] = ()
    chain: tuple[Link, ...] = ()

    @property
    def deciding(self) -> Link | None:
        """The first link that by itself gives this answer: the break, the unknown, the timer."""
        for link in self.chain:
            if link.value is self.value:
                return link
        return None

    @property
    def words(self) -> str:
        """The answer as it is read out: ``TIMED, until 20 min after key-off``."""
        parts = []
        if self.conditions:
            parts.append("only while " + " and ".join(self.conditions))
        if self.until_minutes is not None:
            parts.append(f"until {self.until_minutes:g} min after key-off")
        return ", ".join([self.value.value, *parts])

    @property
    def why(self) -> str:
        """What decides: the break, the unknown, the timer; for ON the last link of the feed."""
        link = self.deciding
        if self.value is Value.ON:
            feed = [link for link in self.chain if link.point not in ("ground", "disconnect")]
            link = feed[-1] if feed else None
        return link.words if link else ""


def on(point: str, words: str) -> Answer:
    """Alive, with the one link that says so."""
    return Answer(Value.ON, chain=(Link(point, words),))


def off(point: str, words: str) -> Answer:
    """Dead, and this link is the break."""
    return Answer(Value.OFF, chain=(Link(point, words, Value.OFF),))


def unknown(point: str, words: str) -> Answer:
    """Not proven, and this link is the one to measure."""
    return Answer(Value.UNKNOWN, chain=(Link(point, words, Value.UNKNOWN),))


def conditional(point: str, words: str, conditions: Sequence[str]) -> Answer:
    """Alive only while every one of ``conditions`` holds."""
    return Answer(
        Value.CONDITIONAL,
        conditions=tuple(conditions),
        chain=(Link(point, words, Value.CONDITIONAL),),
    )


def timed(point: str, words: str, minutes: float) -> Answer:
    """Alive until ``minutes`` after key-off."""
    return Answer(Value.TIMED, minutes, chain=(Link(point, words, Value.TIMED),))


# A source that has no way to a point at all. It is no break that a test lamp could find, so it
# stands for itself and drops out where another branch has something to tell.
NO_WAY = Answer(Value.OFF)


def series(first: Answer, second: Answer) -> Answer:
    """Both must carry: OFF wins, then UNKNOWN, then conditions, then the shorter timer."""
    if first is NO_WAY:
        return NO_WAY
    chain = first.chain + second.chain
    one, two = first.value, second.value
    if one is Value.ON and two is Value.ON:
        return Answer(Value.ON, None, (), chain)
    if one is Value.OFF or two is Value.OFF:
        return Answer(Value.OFF, None, (), chain)
    if one is Value.UNKNOWN or two is Value.UNKNOWN:
        return Answer(Value.UNKNOWN, None, (), chain)
    conditions = tuple(dict.fromkeys(first.conditions + second.conditions))
    timers = [m for m in (first.until_minutes, second.until_minutes) if m is not None]
    value = Value.CONDITIONAL if conditions else Value.TIMED
    return Answer(value, min(timers, default=None), conditions, chain)


def parallel(branches: Sequence[Answer]) -> Answer:
    """Any one is enough: ON wins, then UNKNOWN, then what the branches promise together.

    An OFF answer keeps the first branch's chain and adds the break of every other branch, so
    that nobody stops at the first dead wire. No branch at all is OFF.
    """
    branches = [branch for branch in branches if branch is not NO_WAY]
    if len(branches) == 1:
        return branches[0]
    for wanted in (Value.ON, Value.UNKNOWN):
        for branch in branches:
            if branch.value is wanted:
                return branch
    alive = [branch for branch in branches if branch.value is not Value.OFF]
    if not alive:
        return Answer(Value.OFF, chain=_all_breaks(branches)) if branches else NO_WAY
    result = alive[0]
    for branch in alive[1:]:
        result = _either(result, branch)
    return result


def _all_breaks(branches: Sequence[Answer]) -> tuple[Link, ...]:
    chain = list(branches[0].chain)
    for branch in branches[1:]:
        chain += [link for link in branch.chain if link.is_break and link not in chain]
    return tuple(chain)


def _either(one: Answer, two: Answer) -> Answer:
    chain = one.chain + tuple(link for link in two.chain if link not in one.chain)
    if not one.conditions and not two.conditions:
        longer = max(one.until_minutes or 0.0, two.until_minutes or 0.0)
        return Answer(Value.TIMED, longer, (), chain)
    # "a, or (a and b)" promises no less and no more than "a": the weaker demand decides.
    for lax, strict in ((one, two), (two, one)):
        if set(lax.conditions) <= set(strict.conditions) and _outlasts(lax, strict):
            return Answer(lax.value, lax.until_minutes, lax.conditions, chain)
    words = f"{_promise(one)}, or {_promise(two)}"
    return Answer(Value.CONDITIONAL, None, (words,), chain)


def _outlasts(lax: Answer, strict: Answer) -> bool:
    if lax.until_minutes is None:
        return True
    return strict.until_minutes is not None and strict.until_minutes <= lax.until_minutes


def _promise(answer: Answer) -> str:
    parts = list(answer.conditions)
    if answer.until_minutes is not None:
        parts.append(f"within {answer.until_minutes:g} min of key-off")
    return " and ".join(parts)


def negate(answer: Answer) -> Answer:
    """A contact that is closed at rest: open while the coil's answer is ON.

    A timed coil lets go some time after key-off, so the contact's answer then hangs on a
    condition, not on a timer that ends.
    """
    if answer.value is Value.ON:
        return Answer(Value.OFF, chain=answer.chain)
    if answer.value is Value.OFF:
        return Answer(Value.ON, chain=answer.chain)
    if answer.value is Value.UNKNOWN:
        return answer
    return Answer(Value.CONDITIONAL, None, (f"not ({_promise(answer)})",), answer.chain)
