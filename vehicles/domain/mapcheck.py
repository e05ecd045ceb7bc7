"""Faults of feed maps and procedures: shape by schema, then what only the whole can tell.

``validate_feed_map(data)`` and ``validate_procedure(data, feed_map)`` take plain JSON values
and return every fault with its place; an empty list means that ``from_dict`` will succeed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from vehicles.domain.faults import Fault, load_schema, pointer, schema_faults
from vehicles.domain.feedmap import GROUNDS, FeedMap, element_of
from vehicles.domain.loops import plain_circles
from vehicles.domain.procedure import Step
from vehicles.domain.stepwords import word_faults
from vehicles.domain.terminals import TERMINALS

SCHEMA_FILE = Path(__file__).with_name("vehicle.schema.json")
KEY_VALUES = ("off", "removed", "acc", "on", "start", "unknown")
STEP_VALUES: dict[str, tuple[str, ...]] = {
    "key": KEY_VALUES,
    "parking_brake": ("set", "release"),
    "lamp_switch": ("off", "on", "auto"),
    "disconnect_open": ("positive", "negative"),
}
ELEMENT_LISTS = {
    "terminals": "terminal",
    "fuses": "fuse",
    "relays": "relay",
    "switches": "switch",
    "outlets": "outlet",
    "loads": "load",
}


@cache
def _validator(part: str) -> Any:
    # Imported when first needed: judging alone does not need it, and it is slow to load.
    from jsonschema import Draft202012Validator  # noqa: PLC0415
    from referencing import Registry, Resource  # noqa: PLC0415

    schema = load_schema(SCHEMA_FILE)
    registry: Any = Registry().with_resource(schema["$id"], Resource.from_contents(schema))
    return Draft202012Validator({"$ref": f"{schema['$id']}#/$defs/{part}"}, registry=registry)


def validate_feed_map(data: object) -> list[Fault]:
    """Every fault of a feed map document, places counted from the map itself."""
    faults = schema_faults(_validator("feed_map"), data)
    return faults or feed_map_cross_faults(data)  # type: ignore[arg-type]


def validate_procedure(data: object, feed_map: FeedMap | None) -> list[Fault]:
    """Every fault of a procedure document. Without a ``feed_map`` no step's fuse is looked up."""
    faults = schema_faults(_validator("procedure"), data)
    return faults or procedure_cross_faults(data, feed_map)  # type: ignore[arg-type]


def feed_map_cross_faults(data: Mapping[str, Any]) -> list[Fault]:
    """What the schema cannot say of a map that has the right shape."""
    faults = [*_twice(data)]
    feed_map = FeedMap.from_dict(data)
    faults += _unknown_feeds(data, feed_map)
    faults += _unplaced_terminals(data)
    for circle in plain_circles(feed_map):
        words = " → ".join([*circle, circle[0]])
        faults.append(Fault("", f"These feed each other in a circle and have no source: {words}."))
    return faults


def _twice(data: Mapping[str, Any]) -> Iterator[Fault]:
    for name in ELEMENT_LISTS:
        seen: dict[str, int] = {}
        for at, item in enumerate(data.get(name, ())):
            if item["id"] in seen:
                yield Fault(
                    pointer([name, at, "id"]),
                    f"“{item['id']}” is already used at position {seen[item['id']]}.",
                )
            seen.setdefault(item["id"], at)


def _unplaced_terminals(data: Mapping[str, Any]) -> Iterator[Fault]:
    for at, item in enumerate(data.get("terminals", ())):
        standard = TERMINALS.get(item["id"])
        place = pointer(["terminals", at])
        if standard is not None and standard.role == "return":
            yield Fault(place, f"Terminal {item['id']} is a ground return and feeds nothing.")
        elif standard is None and "live_in" not in item:
            yield Fault(
                place,
                f"Terminal {item['id']} is not a number of DIN 72552 that says when it is live: "
                "give “live_in”.",
            )


def _unknown_feeds(data: Mapping[str, Any], feed_map: FeedMap) -> Iterator[Fault]:
    for name, kind in ELEMENT_LISTS.items():
        if kind == "terminal":
            continue
        for at, item in enumerate(data.get(name, ())):
            for place, words in _element_faults(kind, item, feed_map):
                yield Fault(pointer([name, at, *place]), words)


def _element_faults(
    kind: str, item: Mapping[str, Any], feed_map: FeedMap
) -> Iterator[tuple[tuple[object, ...], str]]:
    for key in ("feed", "coil", "backfeed"):
        for place, point in _points(item, key):
            fault = _feed_fault(kind, point, feed_map)
            if fault:
                yield place, fault
    for key in ("ground", "coil_ground"):
        fault = ground_fault(item.get(key, "body"), feed_map)
        if fault:
            yield (key,), fault


def _points(item: Mapping[str, Any], key: str) -> Iterable[tuple[tuple[object, ...], str]]:
    value = item.get(key, ())
    if isinstance(value, str):
        return [((key,), value)]
    return [((key, at), point) for at, point in enumerate(value)]


def _feed_fault(kind: str, point: str, feed_map: FeedMap) -> str:
    if kind == "switch" and point in GROUNDS:
        return ""
    if point == "own":
        return "“own” is the battery of a fitted part; nothing in the car is fed from it."
    return point_fault(point, feed_map)


def point_fault(point: str, feed_map: FeedMap) -> str:
    """A sentence where this feed point is not on the map, else nothing."""
    if point in feed_map.points:
        return ""
    if point == "coach":
        return "The map records no charge line from the coach (“charge_line”)."
    kind = element_of(point).partition(":")[0]
    if element_of(point) in feed_map.elements:
        return f"“{point}”: this relay has only one output, “{element_of(point)}”."
    if kind not in ELEMENT_LISTS.values() or kind == "load":
        return f"“{point}” is not a point that can feed anything."
    there = [item.partition(":")[2] for item in feed_map.elements if item.startswith(f"{kind}:")]
    return f"“{point}” is not on the feed map. It has {_listed(kind, there)}."


def ground_fault(ground: str, feed_map: FeedMap) -> str:
    """A sentence where this ground is not on the map, else nothing."""
    if ground == "coach" and feed_map.charge_line is None:
        return "The map records no charge line from the coach (“charge_line”)."
    if ground in GROUNDS:
        return ""
    switch = feed_map.elements.get(ground)
    if switch is None:
        return f"“{ground}” is not on the feed map."
    if any(point not in GROUNDS for point in switch.feed):
        return f"“{ground}” does not switch a ground: its feed is {', '.join(switch.feed)}."
    return ""


def _listed(kind: str, names: list[str]) -> str:
    plural = {"switch": "switches"}.get(kind, f"{kind}s")
    return f"these {plural}: {', '.join(names)}" if names else f"no {plural}"


def procedure_cross_faults(
    data: Mapping[str, Any], feed_map: FeedMap | None, *, in_force: bool = True
) -> list[Fault]:
    """What the schema cannot say of a procedure that has the right shape.

    The words of one that is not ``in_force`` any more lead nobody's hand and are not held
    against its fuses.
    """
    steps = data.get("steps", [])
    faults: list[Fault] = []
    if data["verdict"] == "allowed" and not steps:
        faults.append(Fault("/steps", "Towing is allowed, but no step says how."))
    numbers = [step["no"] for step in steps]
    for at, step in enumerate(steps):
        place = pointer(["steps", at])
        if step["no"] in numbers[:at]:
            faults.append(Fault(f"{place}/no", f"Step number {step['no']} is used twice."))
        faults += (Fault(place + key, words) for key, words in _step_faults(step, numbers))
        if feed_map is not None:
            faults += (Fault(place + key, words) for key, words in _map_faults(step, feed_map))
    if in_force:
        faults += _words(steps, feed_map)
    source = data.get("source", {})
    if data["verdict"] != "not_established" and "kind" not in source:
        faults.append(Fault("/source", "“source” does not say what kind of source this is."))
    read_on = source.get("read_on")
    if read_on and not _is_date(read_on):
        faults.append(Fault("/source/read_on", f"{read_on} is not a day of the calendar."))
    return faults


def _words(steps: list[Any], feed_map: FeedMap | None) -> Iterator[Fault]:
    """Steps whose words name another fuse than the step pulls, or one that no step pulls."""
    for fault in word_faults([Step.from_dict(step) for step in steps], feed_map):
        place = pointer(["steps", fault.at, fault.field])
        yield Fault(place, f"{fault.sentence} {fault.remedy}")


def _step_faults(step: Mapping[str, Any], numbers: list[int]) -> Iterator[tuple[str, str]]:
    action, value = step["action"], step.get("value")
    allowed = STEP_VALUES.get(action)
    optional = action == "disconnect_open" and value is None
    if allowed and not optional and value not in allowed:
        yield "/value", f"Step {step['no']} ({action}) needs one of: {', '.join(allowed)}."
    if action in ("engine_run", "wait") and not isinstance(value, (int, float)):
        yield "/value", f"Step {step['no']} ({action}) needs a number of minutes."
    if action in ("gear", "transfer_case") and not value:
        yield "/value", f"Step {step['no']} ({action}) does not say which position."
    if action == "fuse_out" and not step.get("target"):
        yield "/target", f"Step {step['no']} pulls a fuse but does not say which."
    if action == "other" and not step.get("text"):
        yield "/text", f"Step {step['no']} has no words that say what to do."
    for number in step.get("after", ()):
        if number not in numbers or number == step["no"]:
            yield "/after", f"Step {step['no']} must come after step {number}: no such other step."


def _map_faults(step: Mapping[str, Any], feed_map: FeedMap) -> Iterator[tuple[str, str]]:
    target = step.get("target", "")
    if step["action"] == "fuse_out" and target and f"fuse:{target}" not in feed_map.elements:
        yield (
            "/target",
            f"Step {step['no']} pulls fuse {target}, which is not on the feed map. "
            f"Fuses there: {feed_map.fuse_names}.",
        )
    if step.get("needs_live"):
        fault = point_fault(step["needs_live"], feed_map)
        if fault:
            yield "/needs_live", fault


def _is_date(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True
