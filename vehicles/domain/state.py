"""The state a towed vehicle is judged in: key, fuses, disconnect, charge line, pedal, pin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

STATE_NAMES = ("drive", "tow", "breakaway")


@dataclass(frozen=True, slots=True)
class State:
    """Everything outside the feed map that decides what is alive.

    ``None`` means that nobody said: what hangs on it is then UNKNOWN. ``fuses_out`` maps a
    fuse to the step that pulls it (0: no step, toggled in a what-if). ``because`` names the
    step that set ``key``, ``disconnect``, ``charge`` or ``lamp_switch``, for the reasons.
    ``doubted`` maps a fuse to the step whose words leave open whether it is out: UNKNOWN.
    ``unsettled`` is the reason why there is no such state at all (towing not allowed, no
    procedure): every answer but an own battery's is then UNKNOWN.
    ``disconnect_leg`` overrides the feed map's where a step says which cable comes off.
    """

    name: str
    key: str | None = None
    key_removed: bool = False
    fuses_out: Mapping[str, int] = field(default_factory=dict)
    doubted: Mapping[str, int] = field(default_factory=dict)
    disconnect_open: bool = False
    disconnect_leg: str | None = None
    charge_connected: bool | None = None
    pedal: bool | None = False
    lamp_switch: str | None = None
    reverse_gear: bool | None = None
    pin_pulled: bool = False
    minutes_since_key_off: float | None = None
    because: Mapping[str, int] = field(default_factory=dict)
    unsettled: str = ""

    def step_of(self, what: str) -> str:
        """`` (step 4)`` for what a numbered step has set, else nothing."""
        number = self.because.get(what, 0)
        return f" (step {number})" if number else ""

    def fuse_step(self, fuse: str) -> str:
        """`` (step 5)`` for a fuse that a numbered step pulls, else nothing."""
        number = self.fuses_out.get(fuse, 0)
        return f" (step {number})" if number else ""


def drive_state() -> State:
    """Under way on its own: key on, every fuse in, nothing from the coach, pedal at rest."""
    return State("drive", key="on", charge_connected=False)


def breakaway_of(tow: State) -> State:
    """The tow state at the moment the pin is out: what came from the coach has torn off."""
    return replace(tow, name="breakaway", pin_pulled=True, charge_connected=False)


def with_pedal(state: State) -> State:
    """The same state with the brake pedal pressed."""
    return replace(state, pedal=True)
