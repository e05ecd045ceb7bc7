"""Answers from a tablet that was without a connection: in order, and each once.

A device numbers what it sends from 1 on. What arrives early waits; what arrives twice is known
by its id. So any number of replays in any order leads to the same record.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

MOST_AHEAD = 2_000


Item = TypeVar("Item")


def in_turn(waiting: Mapping[int, Item], applied: int) -> list[Item]:
    """Return what can be applied now: the unbroken run of numbers after `applied`."""
    ready = []
    number = applied + 1
    while number in waiting:
        ready.append(waiting[number])
        number += 1
    return ready
