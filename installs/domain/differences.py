"""Two bases of proof compared: what differs, in sentences for the desk and the customer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from installs.domain.findings import state_words
from vehicles.domain.feedmap import element_of, point_words
from vehicles.domain.procedure import LIMIT_WORDS, Step

GROUND_WORDS = {
    "body": "to the body",
    "battery_negative_post": "to the battery's negative post",
    "coach": "through the coach's charge line",
    "own": "to its own battery",
    "unknown": "to a place nobody recorded",
}
TOLD_BY_ANSWERS = ("no_power", "timed_power", "conditional_power", "stays_awake", "not_known")
TOLD_BY_FUSES = ("fuse_out",)


def differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """What of ``new`` differs from ``old``, both made by ``basis_of``; [] where nothing does."""
    return list(
        dict.fromkeys(
            [
                *_procedure(old, new),
                *_sources(old["sources"], new["sources"]),
                *_ports(old, new),
                *_elements(old, new),
                *_blocking(old, new),
                *_answers(old, new),
            ]
        )
    )


def _procedure(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    was, now = old["procedure"], new["procedure"]
    if was["verdict"] != now["verdict"]:
        yield f"Towing is now {_verdict(now['verdict'])}; before: {_verdict(was['verdict'])}."
    if was["verified"] != now["verified"]:
        documented = "now rests on a document" if now["verified"] else "no longer has a document"
        yield f"The procedure {documented}."
    yield from _fuses(old, new)
    yield from _steps(old, new)
    yield from _limits(was["limits"], now["limits"])


def _verdict(verdict: str) -> str:
    return verdict.replace("_", " ")


def _pulled(basis: Mapping[str, Any]) -> dict[str, int]:
    """Pulled fuse -> number of the step that pulls it."""
    numbered = zip(basis["said"]["steps"], basis["procedure"]["steps"], strict=True)
    return {step[1]: number for number, step in numbered if step[0] == "fuse_out"}


def _fuses(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    was, now = _pulled(old), _pulled(new)
    for fuse, number in now.items():
        if fuse not in was:
            hanging = _fed_through(new, fuse)
            through = f" Fed through it: {'; '.join(hanging)}." if hanging else ""
            yield f"{fuse} is now pulled (step {number}).{through}"
    for fuse, number in was.items():
        if fuse not in now:
            yield f"{fuse} is no longer pulled (it was step {number})."


def _fed_through(basis: Mapping[str, Any], fuse: str) -> list[str]:
    """Ports that are connected to the load side of this fuse, by name."""
    return [
        basis["said"][key]
        for key, port in basis["ports"].items()
        if f"fuse:{fuse}" in _way(basis["elements"], port["feed"])
    ]


def _way(elements: Mapping[str, Any], point: str) -> set[str]:
    found: set[str] = set()
    waiting = [point]
    while waiting:
        at = waiting.pop()
        if at in found:
            continue
        found.add(at)
        feed = elements.get(element_of(at), {}).get("feed", [])
        waiting += [feed] if isinstance(feed, str) else feed
    return found


def _steps(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    was = [tuple(step) for step in old["procedure"]["steps"]]
    now = [tuple(step) for step in new["procedure"]["steps"]]
    numbers = new["said"]["steps"]
    single = ("key", "lamp_switch", "gear", "transfer_case", "parking_brake", "disconnect_open")
    for number, step in zip(numbers, now, strict=True):
        if step in was or step[0] in TOLD_BY_FUSES:
            continue
        before = [other for other in was if other[0] == step[0] and other not in now]
        earlier = f"; before: {_step(before[0])}" if before and step[0] in single else ""
        yield f"Step {number} is new: {_step(step)}{earlier}."
    for step in was:
        replaced = step[0] in single and any(other[0] == step[0] for other in now)
        if step not in now and step[0] not in TOLD_BY_FUSES and not replaced:
            yield f"No longer done: {_step(step)}."
    kept_then = [step for step in was if step in now]
    kept_now = [step for step in now if step in was]
    if kept_then != kept_now:
        yield "The steps are done in another order."


def _step(step: tuple[Any, ...]) -> str:
    action, target, value, text = step
    words = Step(1, action, target, value, text).words
    return words[0].lower() + words[1:]


def _limits(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for name, (words, unit) in LIMIT_WORDS.items():
        if was[name] != now[name]:
            before = "not stated" if was[name] is None else f"{was[name]:g}{unit}"
            after = "not stated" if now[name] is None else f"{now[name]:g}{unit}"
            yield f"{words}: now {after}; before: {before}."
    if was["daily_repeat"] != now["daily_repeat"]:
        yield f"It must {'now' if now['daily_repeat'] else 'no longer'} be repeated every day."
    if was["direction"] != now["direction"]:
        before, after = (x["direction"] or "not stated" for x in (was, now))
        yield f"Direction: now {after}; before: {before}."


def _sources(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    if was["disconnect"] != now["disconnect"]:
        yield (
            f"Battery disconnect: now {_leg(now['disconnect'])}; before: {_leg(was['disconnect'])}."
        )
    if was["charge_line"] != now["charge_line"]:
        if not was["charge_line"] or not now["charge_line"]:
            there = "is now" if now["charge_line"] else "is no longer"
            yield f"A charge line from the coach {there} on record."
        else:
            yield from _charge_line(was["charge_line"], now["charge_line"])
    if was["electric_parking_brake"] != now["electric_parking_brake"]:
        has = "has" if now["electric_parking_brake"] else "does not have"
        yield f"The car {has} an electric parking brake."


def _charge_line(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    after, before = now.get("rating_a"), was.get("rating_a")
    if after != before:
        yield f"The coach's charge line: now {_amps(after)}; before: {_amps(before)}."
    if {**was, "rating_a": after} != {**now, "rating_a": after}:
        yield "The coach's charge line lands, returns or is switched differently."


def _leg(leg: str) -> str:
    return "none" if leg == "none" else f"in the {leg} leg"


def _ports(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for group in ("ports", "loads"):
        was, now = old[group], new[group]
        for key in now:
            label = new["said"][key]
            if key not in was:
                yield f"{label} is new."
            else:
                yield from _fitting(new["said"]["parts"].get(key, label), was[key], now[key])
                yield from _connection(label, was[key], now[key])
                yield from _demands(label, was[key], now[key])
        for key in was:
            if key not in now:
                yield f"{old['said'][key]} is no longer there."


def _fitting(part: str, was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    if was.get("fitting") == now.get("fitting"):
        return
    if "fitting" in was and "fitting" in now:
        yield f"{part} was taken off and fitted again."
    else:
        told = "is now" if "fitting" in now else "is no longer"
        yield f"{part}: it {told} on record which fitting of it is measured."


def _connection(label: str, was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    if was["feed"] != now["feed"]:
        yield f"{label}: now fed from {_feed(now['feed'])}; before: {_feed(was['feed'])}."
    if was["ground"] != now["ground"]:
        after, before = (GROUND_WORDS.get(x["ground"], x["ground"]) for x in (now, was))
        yield f"{label}: now returns {after}; before: {before}."
    if was.get("in_slot") != now.get("in_slot"):
        slot = "sits in" if now["in_slot"] else "is no longer in"
        yield f"{label}: its tap {slot} the fuse's slot."
    if was.get("own_fuse_a") != now.get("own_fuse_a"):
        after, before = _amps(now["own_fuse_a"]), _amps(was["own_fuse_a"])
        yield f"{label}: its own fuse is now {after}; before: {before}."
    if was.get("proven") != now.get("proven"):
        word = "measured or documented" if now["proven"] else "only assumed"
        yield f"{label}: where it is connected is now {word}."
    if was.get("amps") != now.get("amps") or was.get("peak_a") != now.get("peak_a"):
        yield f"{label}: the current it needs is recorded differently."


def _feed(feed: str | list[str]) -> str:
    points = [feed] if isinstance(feed, str) else feed
    return " or ".join(point_words(point) for point in points)


def _amps(value: float | None) -> str:
    return "not recorded" if value is None else f"{value:g} A"


def _demands(label: str, was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for state in dict.fromkeys((*now["demands"], *was["demands"])):
        before, after = was["demands"].get(state, "any"), now["demands"].get(state, "any")
        if before != after:
            yield (
                f"{label}: {state_words(state)} it must now be {_demand(after)}; "
                f"before: {_demand(before)}."
            )


def _demand(demand: str) -> str:
    return {"any": "either", "not_recorded": "nobody recorded what"}.get(demand, demand.upper())


def _elements(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for point, now in new["elements"].items():
        was = old["elements"].get(point)
        if was is None or was == now:
            continue
        name = point_words(point).removesuffix("'s load side")
        if was.get("feed") != now.get("feed"):
            after, before = _feed(now["feed"]), _feed(was["feed"])
            yield f"{name}: now fed from {after}; before: {before}."
        if was.get("rating_a") != now.get("rating_a"):
            after, before = _amps(now.get("rating_a")), _amps(was.get("rating_a"))
            yield f"{name}: now {after}; before: {before}."
        told = {"feed", "rating_a"}
        others = {k for k in {*was, *now} - told if was.get(k) != now.get(k)}
        if others:
            listed = ", ".join(sorted(key.replace("_", " ") for key in others))
            yield f"{name} is recorded differently: {listed}."


def _blocking(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    """What stands in the way that did not before, and the other way round, by its title."""
    was, now = _titles(old), _titles(new)
    for key, titles in now.items():
        if key not in was and not _told_by_answer(key, old, new):
            yield from titles
    for key, titles in was.items():
        if key not in now and not _told_by_answer(key, old, new):
            yield from (f"No longer in the way: {title}" for title in titles)


def _titles(basis: Mapping[str, Any]) -> dict[tuple[str, ...], list[str]]:
    # Left out where nothing blocks, and by proofs that were signed before findings were kept.
    keys = [tuple(key) for key in basis.get("blocking", ())]
    return dict(zip(keys, basis["said"].get("findings", ()), strict=True))


def _told_by_answer(key: tuple[str, ...], old: Mapping[str, Any], new: Mapping[str, Any]) -> bool:
    """Is this finding only what the changed answer of a port or load says anyway?"""
    code, component, port = key
    name = f"{component}.{port}" if port else component
    was, now = (
        (basis["ports"].get(name) or basis["loads"].get(name) or {}).get("answers")
        for basis in (old, new)
    )
    return code in TOLD_BY_ANSWERS and None not in (was, now) and was != now


def _answers(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for group in ("ports", "loads"):
        for key, now in new[group].items():
            was = old[group].get(key)
            if was is None:
                continue
            for state, answer in now["answers"].items():
                before = was["answers"].get(state)
                if before is not None and list(before) != list(answer):
                    yield (
                        f"{new['said'][key]}: now {_said(answer)} {state_words(state)}; "
                        f"before: {_said(before)}."
                    )


def _said(answer: list[Any]) -> str:
    value, minutes, conditions = answer
    parts = [value]
    if conditions:
        parts.append("only while " + " and ".join(conditions))
    if minutes is not None:
        parts.append(f"until {minutes:g} min after key-off")
    return ", ".join(parts)
