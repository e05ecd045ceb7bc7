"""What one element of the feed map does by itself in a state: carry on, break, or nobody knows.

Relays are not here: what their contacts do hangs on the rest of the map.
"""

from __future__ import annotations

from vehicles.domain.answers import Answer, conditional, off, on, series, timed, unknown
from vehicles.domain.feedmap import Fuse, Outlet, Switch, Terminal
from vehicles.domain.state import State

ALL_POSITIONS = frozenset({"off", "acc", "on", "start"})
UNDER_WAY = frozenset({"on", "start"})


def closed(state: State, point: str, element: Terminal | Fuse | Switch | Outlet) -> Answer:
    """Does ``element`` carry on at ``point``, whatever feeds it?"""
    if isinstance(element, Fuse):
        return _closed_fuse(state, point, element)
    if isinstance(element, Terminal):
        return _closed_terminal(state, point, element)
    if isinstance(element, Outlet):
        return _closed_outlet(state, point, element)
    return _closed_switch(state, point, element)


def _closed_fuse(state: State, point: str, fuse: Fuse) -> Answer:
    if fuse.id in state.doubted:
        step = state.doubted[fuse.id]
        return unknown(point, f"{fuse.id}: the words of step {step} leave open whether it is out")
    if fuse.id in state.fuses_out:
        return off(point, f"{fuse.id} is out{state.fuse_step(fuse.id)}")
    rating = f" ({fuse.rating_a:g} A)" if fuse.rating_a else ""
    return on(point, f"{fuse.id}{rating} is in")


def _closed_terminal(state: State, point: str, terminal: Terminal) -> Answer:
    by_key = _by_key(state, point, terminal)
    gate = _gate(state, point, terminal.gate, terminal.conditions, f"terminal {terminal.id}")
    return by_key if gate is None else series(by_key, gate)


def _by_key(state: State, point: str, terminal: Terminal) -> Answer:
    positions = terminal.positions
    name = f"terminal {terminal.id}"
    if positions == ALL_POSITIONS:
        return on(point, f"{name}, live in every key position")
    if not positions:
        return unknown(point, f"{name}: nobody recorded in which key positions it is live")
    if state.key is None:
        return unknown(point, f"{name}: the procedure does not say where the key stands")
    where = f"key {'out' if state.key_removed else state.key.upper()}{state.step_of('key')}"
    if state.key in positions:
        return on(point, f"{name}, {where}")
    return _retained(state, point, f"{name}, {where}", terminal.timer_minutes)


def _retained(state: State, point: str, where: str, timer: float | None) -> Answer:
    """Not fed by the key any more: dead, unless a timer still holds it."""
    gone = state.minutes_since_key_off
    if timer is None:
        return off(point, f"{where}: dead")
    if gone is not None and gone >= timer:
        return off(point, f"{where}: its {timer:g} min timer has run out")
    return timed(point, f"{where}: held by a timer for {timer:g} min", timer)


def _closed_outlet(state: State, point: str, outlet: Outlet) -> Answer:
    name = outlet.name or f"outlet {outlet.id}"
    change = " (the driver can change this)" if outlet.user_can_change else ""
    answer = on(point, name)
    if outlet.timer_minutes is not None:
        answer = _on_timer(state, point, name + change, outlet.timer_minutes)
    if outlet.conditions:
        words = " and ".join(outlet.conditions)
        extra = conditional(point, f"{name}: only while {words}{change}", outlet.conditions)
        answer = extra if outlet.timer_minutes is None else series(answer, extra)
    elif outlet.user_can_change and outlet.timer_minutes is None:
        answer = conditional(point, name + change, ("the driver leaves its setting as it is",))
    return answer


def _on_timer(state: State, point: str, name: str, timer: float) -> Answer:
    """A timer that starts when the key leaves *on*, whatever feeds the outlet."""
    if state.key in UNDER_WAY:
        return on(point, name)
    gone = state.minutes_since_key_off
    if gone is not None and gone >= timer:
        return off(point, f"{name}: its {timer:g} min timer has run out")
    return timed(point, f"{name}: switches itself off after {timer:g} min", timer)


def _closed_switch(state: State, point: str, switch: Switch) -> Answer:
    name = switch.name or f"switch {switch.id}"
    gate = _gate(state, point, switch.closed_when, switch.conditions, name)
    return on(point, f"{name}, closed") if gate is None else gate


def _gate(
    state: State, point: str, closed_when: str, conditions: tuple[str, ...], name: str
) -> Answer | None:
    """A switch by what closes it; None where nothing opens it."""
    gate: Answer | None = None
    if closed_when == "pedal":
        gate = _by_flag(point, name, state.pedal, "brake pedal", "pressed", "at rest")
    elif closed_when == "reverse":
        gate = _by_flag(point, name, state.reverse_gear, "reverse gear", "in", "not in")
    elif closed_when == "pin":
        gate = _by_flag(point, name, state.pin_pulled, "breakaway pin", "pulled", "in place")
    elif closed_when == "lamp_switch":
        gate = _by_lamp_switch(state, point, name)
    elif closed_when != "always":
        gate = unknown(point, f"{name}: nobody recorded what closes it")
    if conditions:
        words = " and ".join(conditions)
        extra = conditional(point, f"{name}: only while {words}", conditions)
        gate = extra if gate is None else series(gate, extra)
    return gate


def _by_lamp_switch(state: State, point: str, name: str) -> Answer:
    step, position = state.step_of("lamp_switch"), state.lamp_switch
    if position == "off":
        return off(point, f"{name}: lamp switch OFF{step}")
    if position == "on":
        return on(point, f"{name}: lamp switch ON{step}")
    if position == "auto":
        return conditional(point, f"{name}: lamp switch AUTO{step}", ("it is dark",))
    return conditional(
        point, f"{name}: nobody said how the lamp switch stands", ("the lamps are switched on",)
    )


def _by_flag(
    point: str, name: str, flag: bool | None, what: str, closed: str, opened: str
) -> Answer:
    if flag is None:
        return conditional(point, f"{name}: closed while {what} {closed}", (f"{what} {closed}",))
    if flag:
        return on(point, f"{name}: {what} {closed}")
    return off(point, f"{name}: {what} {opened}")
