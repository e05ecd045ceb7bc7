"""Vehicle sheets for tests of the judgement, built from a few words."""

from __future__ import annotations

import copy
from typing import Any

from vehicles.domain.feedmap import FeedMap
from vehicles.domain.feeds import LivePaths
from vehicles.domain.procedure import Procedure, states_of
from vehicles.domain.state import State

TERMINALS = [{"id": "30"}, {"id": "15R"}, {"id": "15"}]
MANUAL = {"kind": "document", "title": "Owner's manual", "edition": "1", "page": "212"}


def feed_map(**parts: Any) -> dict[str, Any]:
    """A documented feed map with terminals 30, 15R and 15, and whatever is given besides."""
    return {"known": "document", "terminals": TERMINALS, **copy.deepcopy(parts)}


def step(no: int, action: str, **parts: Any) -> dict[str, Any]:
    """One step; a pulled fuse gets its reverse step unless it is given."""
    if action == "fuse_out":
        parts = {"reverse": f"Put {parts['target']} back", **parts}
    return {"no": no, "action": action, **parts}


def procedure(*steps: dict[str, Any], **parts: Any) -> dict[str, Any]:
    """An allowed procedure from a manual; with no step at all the key is in ACC."""
    steps = steps or (step(1, "key", value="acc"),)
    return {"verdict": "allowed", "source": dict(MANUAL), "steps": list(steps), **parts}


def paths(data: dict[str, Any], state: State | str, *steps: dict[str, Any]) -> LivePaths:
    """Walk a map in a state, or in the named state that a procedure of these steps gives."""
    if isinstance(state, str):
        state = states_of(Procedure.from_dict(procedure(*steps)))[state]
    return LivePaths(FeedMap.from_dict(data), state)


def sheet(
    *,
    fuses: list[dict[str, Any]] | None = None,
    steps: tuple[dict[str, Any], ...] = (),
    ports: dict[str, tuple[dict[str, Any], dict[str, Any]]] | None = None,
    kinds: dict[str, Any] | None = None,
    **map_parts: Any,
) -> dict[str, Any]:
    """A sheet whose ``ports`` give one fitting each: name -> (what its kind asks, connection)."""
    document = {
        "pullpin_sheet": 1,
        "vehicle": {"name": "2019 Alder Crestline", "year": 2019},
        "feed_map": feed_map(fuses=fuses or [], **map_parts),
        "procedure": procedure(*steps),
        "kinds": dict(kinds or {}),
        "fittings": [],
    }
    for name, (asked, connection) in (ports or {}).items():
        port = {"name": "supply", "demand": {"tow": "on"}, **asked}
        document["kinds"][name] = {"name": name.replace("_", " "), "ports": [port]}
        document["fittings"].append(
            {
                "id": name.upper(),
                "kind": name,
                "ports": {"supply": {"ground": "body", **connection}},
            }
        )
    return document
