"""Answers from a tablet that was without a connection: in order, and each once.

A device numbers what it sends from 1 on. What arrives early waits; what arrives twice is known
by its id. So any number of replays in any order leads to the same record.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

MOST_AHEAD = 2_000


@dataclass(frozen=True, slots=True)
class Sent:
    """One thing sent: the device, its number there, an id of its own, and what was sent."""

    device: str
    seq: int
    id: str
    payload: Mapping[str, Any]


Item = TypeVar("Item")


def in_turn(waiting: Mapping[int, Item], applied: int) -> list[Item]:
    """Return what can be applied now: the unbroken run of numbers after `applied`."""
    ready = []
    number = applied + 1
    while number in waiting:
        ready.append(waiting[number])
        number += 1
    return ready


def missing(waiting: Iterable[int], applied: int) -> list[int]:
    """Return the numbers that something which arrived already waits for."""
    known = set(waiting)
    return [
        number for number in range(applied + 1, max(known, default=applied)) if number not in known
    ]
