"""What if? Toggle fuses, key, disconnect or charge line in the tow state and see who dies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from installs.domain.findings import state_words
from installs.domain.needs import Judgement, PortJudgement, judge
from installs.domain.sheet import Sheet
from vehicles.domain.procedure import states_of
from vehicles.domain.state import State, breakaway_of
from vehicles.domain.terminals import KEY_POSITIONS


@dataclass(frozen=True)
class WhatIf:
    """The judgement with the changes, and the differences to the recorded tow state in words."""

    judgement: Judgement
    differences: tuple[str, ...]


def what_if(sheet: Sheet, changes: Mapping[str, Any], *, before: Judgement | None = None) -> WhatIf:
    """Judge the sheet with its tow state changed.

    ``changes``: ``fuses`` (ids to toggle: out becomes in, in becomes out), ``key`` (``off``,
    ``acc``, ``on``, ``start``), ``disconnect`` (True: open), ``charge`` (True: plugged in).
    Raises ``ValueError`` with a sentence for a fuse or key position that does not exist.
    ``before`` saves judging the recorded state again.
    """
    before = before or judge(sheet)
    states = dict(states_of(sheet.procedure, sheet.feed_map))
    states["tow"] = _changed(sheet, states["tow"], changes)
    states["breakaway"] = breakaway_of(states["tow"])
    after = judge(sheet, states=states)
    return WhatIf(after, tuple(_differences(before, after)))


def _changed(sheet: Sheet, tow: State, changes: Mapping[str, Any]) -> State:
    fuses = dict(tow.fuses_out)
    for fuse in changes.get("fuses", ()):
        if f"fuse:{fuse}" not in sheet.feed_map.elements:
            there = sheet.feed_map.fuse_names
            raise ValueError(f"Fuse {fuse} is not on the feed map. Fuses there: {there}.")
        if fuse in fuses:
            del fuses[fuse]
        else:
            fuses[fuse] = 0
    because = dict(tow.because)
    # What is toggled here is in or out, whatever a step's words leave open.
    doubted = {f: no for f, no in tow.doubted.items() if f not in changes.get("fuses", ())}
    new: dict[str, Any] = {"fuses_out": fuses, "doubted": doubted}
    key = changes.get("key")
    if key is not None:
        if key not in KEY_POSITIONS:
            raise ValueError(f"{key} is no key position: {', '.join(KEY_POSITIONS)}.")
        new |= {"key": key, "key_removed": False}
        because.pop("key", None)
    for name, field in (("disconnect", "disconnect_open"), ("charge", "charge_connected")):
        if changes.get(name) is not None:
            new[field] = bool(changes[name])
            because.pop(name, None)
    return replace(tow, because=because, **new)


def _differences(before: Judgement, after: Judgement) -> list[str]:
    told: list[str] = []
    pairs = zip((*before.ports, *before.loads), (*after.ports, *after.loads), strict=True)
    for old, new in pairs:
        for state in new.answers:
            sentence = _difference(old, new, state)
            if sentence:
                told.append(sentence)
    return told


def _difference(old: PortJudgement, new: PortJudgement, state: str) -> str:
    was, now = old.answers[state], new.answers[state]
    if was.words == now.words:
        return ""
    verdict = {
        (True, False): " It would no longer get what it needs.",
        (False, True): " It would get what it needs.",
    }.get((old.met(state), new.met(state)), "")
    return (
        f"{new.label}: {now.words} {state_words(state)} instead of {was.words} "
        f"({now.why}).{verdict}"
    )
