"""Where a job stands, and where it may go from there."""

from __future__ import annotations

from enum import StrEnum


class Status(StrEnum):
    """The states of a job, in the order in which a smooth one passes them."""

    ASKED_FOR = "asked_for"
    READY = "ready"
    IN_HAND = "in_hand"
    WAITING_ON = "waiting_on"
    TO_BE_PROVEN = "to_be_proven"
    TO_BE_HANDED_OVER = "to_be_handed_over"
    CLOSED = "closed"
    CALLED_OFF = "called_off"


STATUS_WORDS = {
    Status.ASKED_FOR: "asked for",
    Status.READY: "ready",
    Status.IN_HAND: "in hand",
    Status.WAITING_ON: "waiting on something",
    Status.TO_BE_PROVEN: "to be proven",
    Status.TO_BE_HANDED_OVER: "to be handed over",
    Status.CLOSED: "closed",
    Status.CALLED_OFF: "called off",
}
_WORKING = (Status.IN_HAND, Status.TO_BE_PROVEN, Status.TO_BE_HANDED_OVER)
TRANSITIONS: dict[Status, frozenset[Status]] = {
    Status.ASKED_FOR: frozenset({Status.READY, Status.IN_HAND, Status.CALLED_OFF}),
    Status.READY: frozenset(
        {Status.ASKED_FOR, Status.IN_HAND, Status.WAITING_ON, Status.CALLED_OFF}
    ),
    Status.IN_HAND: frozenset({Status.WAITING_ON, Status.TO_BE_PROVEN, Status.CALLED_OFF}),
    Status.WAITING_ON: frozenset({Status.READY, *_WORKING, Status.CALLED_OFF}),
    # A proof that fails leads back to the work; so does a part added late.
    Status.TO_BE_PROVEN: frozenset(
        {Status.IN_HAND, Status.WAITING_ON, Status.TO_BE_HANDED_OVER, Status.CALLED_OFF}
    ),
    Status.TO_BE_HANDED_OVER: frozenset(
        {Status.IN_HAND, Status.TO_BE_PROVEN, Status.WAITING_ON, Status.CLOSED, Status.CALLED_OFF}
    ),
    Status.CLOSED: frozenset(),
    Status.CALLED_OFF: frozenset(),
}
OVER = frozenset({Status.CLOSED, Status.CALLED_OFF})
# Leaving the straight way is explained.
WANT_A_REASON = frozenset({Status.WAITING_ON, Status.CALLED_OFF})


def move_fault(now: str, to: str, *, why: str = "") -> str:
    """Return a sentence where a job may not go from `now` to `to`, else an empty text."""
    if Status(to) not in TRANSITIONS[Status(now)]:
        ways = ", ".join(STATUS_WORDS[s] for s in Status if s in TRANSITIONS[Status(now)])
        told = f"It can go to: {ways}." if ways else "Nothing follows after that."
        return f"A job that is {STATUS_WORDS[Status(now)]} cannot become " + (
            f"{STATUS_WORDS[Status(to)]}. {told}"
        )
    if Status(to) in WANT_A_REASON and not why.strip():
        return "Say what it waits on." if to == Status.WAITING_ON else "Say why it is called off."
    return ""
