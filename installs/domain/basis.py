"""What a proof rests on: a canonical form of it, its fingerprint, and differences in words.

The basis holds everything that could change whether the fitted parts work in the tow state:
the procedure's actions in order with its verdict and limits, each port's connection and what
its kind demands, which fitting it belongs to, every element on the way to it, the answers, and
the findings that block. It leaves out what cannot: names, notes, texts, step numbers, the
edition of a source, a fuse that is on no way and is not pulled. The names that sentences need
ride along under ``said`` and are not fingerprinted.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from typing import Any

from installs.domain.differences import differences
from installs.domain.needs import Judgement, PortJudgement
from installs.domain.sheet import Sheet
from vehicles.domain.answers import Answer
from vehicles.domain.feedmap import (
    PROVEN,
    ChargeLine,
    FeedMap,
    Relay,
    Terminal,
    element_of,
    feeds_of,
)
from vehicles.domain.procedure import Procedure

__all__ = ["basis_of", "differences", "fingerprint"]

# Fields of elements that say where something is or what it is called, not what it does.
NOT_ELECTRICAL = frozenset(
    {"id", "name", "box", "row", "col", "blade", "behind", "consequence", "severity", "needs"}
)


def basis_of(sheet: Sheet, judgement: Judgement) -> dict[str, Any]:
    """The canonical basis, JSON values only. See the module for what it holds and leaves out."""
    ports: dict[str, Any] = {}
    said: dict[str, str] = {}
    parts: dict[str, str] = {}
    points: set[str] = set()
    connections = {fitting.id: fitting.ports.ports for fitting in sheet.fittings}
    for judged in judgement.ports:
        key = f"{judged.component}.{judged.port}"
        connection = connections[judged.component].get(judged.port)
        ports[key] = _asked(judged) | {
            "feed": connection.feed if connection else "unknown",
            "ground": connection.ground if connection else "unknown",
            "in_slot": bool(connection and connection.in_slot),
            "own_fuse_a": connection.own_fuse_a if connection else None,
            "proven": bool(connection and connection.known in PROVEN),
        }
        said[key] = judged.label
        points |= {ports[key]["feed"], ports[key]["ground"]}
    for fitting in sheet.fittings:
        for port in sheet.kinds[fitting.kind].ports:
            key = f"{fitting.id}.{port.name}"
            parts[key] = said[key].removesuffix(f", {port.name.replace('_', ' ')}")
            ports[key]["amps"] = [port.min_supply_a, port.peak_a]
            # Taken off and fitted again is another fitting, connected anew by somebody's hand.
            if "fitting" in fitting.about:
                ports[key]["fitting"] = fitting.about["fitting"]
    loads: dict[str, Any] = {}
    for judged in judgement.loads:
        if set(judged.demands.values()) == {"any"}:
            continue
        load = sheet.feed_map.elements[judged.component]
        loads[judged.component] = _asked(judged) | {
            "feed": list(load.feed),
            "ground": load.ground,
            "peak_a": load.peak_a,
        }
        said[judged.component] = judged.label
        points |= {*load.feed, load.ground}
    blocking = _blocking(judgement)
    basis: dict[str, Any] = {
        "procedure": _procedure(sheet.procedure),
        "ports": ports,
        "loads": loads,
        "elements": _elements(sheet.feed_map, points),
        "sources": _sources(sheet.feed_map),
        "said": said
        | {
            "steps": [step.no for step in sheet.procedure.steps],
            "parts": parts,
            "findings": [blocking[key] for key in sorted(blocking)],
        },
    }
    # Nothing that blocks leaves no entry, as in every proof: none is signed while something does.
    if blocking:
        basis["blocking"] = [list(key) for key in sorted(blocking)]
    return basis


def _blocking(judgement: Judgement) -> dict[tuple[str, str, str], list[str]]:
    """What blocks, as (code, component, port), each with the titles of its findings."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for finding in judgement.findings:
        if finding.blocking:
            key = (finding.code.value, finding.component, finding.port)
            found.setdefault(key, []).append(finding.title)
    return found


def fingerprint(basis: Mapping[str, Any]) -> str:
    """SHA-256 of the basis without ``said``, as canonical JSON; the same for 15 and 15.0."""
    bound = {key: value for key, value in basis.items() if key != "said"}
    text = json.dumps(_canonical(bound), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _canonical(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _canonical(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_canonical(item) for item in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value


def _asked(judged: PortJudgement) -> dict[str, Any]:
    return {
        "demands": dict(judged.demands),
        # Where either will do, what is found there binds nobody.
        "answers": {
            state: _answer(answer)
            for state, answer in judged.answers.items()
            if judged.demands[state] != "any"
        },
    }


def _answer(answer: Answer) -> list[Any]:
    return [answer.value.value, answer.until_minutes, sorted(answer.conditions)]


def _procedure(procedure: Procedure) -> dict[str, Any]:
    limits = procedure.limits
    return {
        "verdict": procedure.verdict,
        "verified": procedure.source.verified,
        "steps": [
            [step.action, step.target, step.value, step.text if step.action == "other" else ""]
            for step in procedure.steps
        ],
        "limits": {
            "max_speed_mph": limits.max_speed_mph,
            "max_distance_mi": limits.max_distance_mi,
            "engine_run_every_h": limits.engine_run_every_h,
            "engine_run_minutes": limits.engine_run_minutes,
            "daily_repeat": limits.daily_repeat,
            "direction": limits.direction,
        },
    }


def _sources(feed_map: FeedMap) -> dict[str, Any]:
    line = feed_map.charge_line
    return {
        "disconnect": feed_map.disconnect.leg if feed_map.disconnect else "none",
        "charge_line": line and _charge_line(line),
        "electric_parking_brake": bool(feed_map.electric_parking_brake),
    }


def _charge_line(line: ChargeLine) -> dict[str, Any]:
    told: dict[str, Any] = {
        "lands": line.lands,
        "ground": line.ground,
        "conditions": list(line.conditions),
        "proven": line.known in PROVEN,
    }
    if line.rating_a is not None:
        told["rating_a"] = line.rating_a
    return told


def _elements(feed_map: FeedMap, points: set[str]) -> dict[str, Any]:
    """Every element on a way to one of ``points``, coils of relays included."""
    found: dict[str, Any] = {}
    waiting = list(points)
    while waiting:
        point = element_of(waiting.pop())
        element = feed_map.elements.get(point)
        if element is None or point in found:
            continue
        found[point] = _electrical(element)
        waiting += _upstream(element)
    return found


def _upstream(element: Any) -> Iterator[str]:
    yield from feeds_of(element)
    if isinstance(element, Relay):
        yield from (*element.coil, element.coil_ground)
    yield from getattr(element, "backfeed", ())


def _electrical(element: Any) -> dict[str, Any]:
    written = element.to_dict()
    kept = {key: value for key, value in written.items() if key not in NOT_ELECTRICAL}
    kept["feed"] = list(feeds_of(element))
    kept["known"] = "proven" if element.known in PROVEN else "assumed"
    if isinstance(element, Terminal):
        kept["live_in"] = sorted(element.positions)
    return kept
