"""Do measured values prove what the judgement promises? Pure.

A reading counts only with the minutes since key-off: many outlets stay alive for a while after
the key is turned, so an early reading proves nothing of the hours on the road.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

# Retained accessory power commonly ends within 10 to 30 minutes; common practice, no source.
SETTLED_MINUTES = 35.0
# Waited beyond a timer that the feed map records; common practice, no source.
TIMER_MARGIN_MINUTES = 5.0
# Below this a 12 V part is as good as without supply; above the other it is not at rest.
# Common practice, no source; a part's own limits come from its maker.
ALIVE_VOLTS = 10.5
AT_REST_VOLTS = 0.5
# More than a charging 12 V system ever shows; a slipped decimal point or the wrong range.
MOST_VOLTS = 20.0


@dataclass(frozen=True)
class Wanted:
    """A value that the proof must hold: one port in one state."""

    component: str
    port: str
    state: str
    demand: str
    label: str
    timer_minutes: float | None = None

    @property
    def key(self) -> tuple[str, str, str]:
        return (self.component, self.port, self.state)

    @property
    def earliest_minutes(self) -> float:
        """Minutes since key-off from which on a reading counts."""
        if self.timer_minutes is None:
            return SETTLED_MINUTES
        return max(SETTLED_MINUTES, self.timer_minutes + TIMER_MARGIN_MINUTES)


@dataclass(frozen=True)
class Measured:
    """One reading. `volts` and `minutes_since_key_off` are None where nobody wrote them down."""

    component: str
    port: str
    state: str
    volts: float | None
    minutes_since_key_off: float | None = None

    @property
    def key(self) -> tuple[str, str, str]:
        return (self.component, self.port, self.state)


def proof_faults(
    wanted: Sequence[Wanted],
    measured: Iterable[Measured],
    *,
    alive_volts: float = ALIVE_VOLTS,
) -> dict[tuple[str, str, str], str]:
    """Return a sentence for each value that is missing, too early or wrong; {} proves all.

    `alive_volts` is the least at a port that must be on: the shop's limit `port_volts`.
    """
    by_key = {reading.key: reading for reading in measured}
    faults = {}
    for want in wanted:
        sentence = _fault(want, by_key.get(want.key), alive_volts)
        if sentence:
            faults[want.key] = sentence
    return faults


def _fault(want: Wanted, reading: Measured | None, alive_volts: float) -> str:
    if reading is None or reading.volts is None:
        return f"{want.label}: measure the volts at this port. Nothing measured is not proven."
    if not want.state.startswith("drive"):
        minutes = reading.minutes_since_key_off
        if minutes is None:
            return f"{want.label}: say how many minutes after key-off it was measured."
        if not minutes >= want.earliest_minutes:
            return (
                f"{want.label}: {minutes:g} min after key-off is too early. "
                f"Measure again after {want.earliest_minutes:g} min."
            )
    return _volts_fault(want, reading.volts, alive_volts)


def _volts_fault(want: Wanted, volts: float, alive_volts: float) -> str:
    if not abs(volts) <= MOST_VOLTS:  # also true for what is not a number
        return f"{want.label}: {volts:g} V cannot be read off a 12 V vehicle. Look again."
    if want.demand == "on" and volts < alive_volts:
        return f"{want.label}: {volts:g} V; at least {alive_volts:g} V is wanted."
    if want.demand == "off" and abs(volts) > AT_REST_VOLTS:
        return f"{want.label}: {volts:g} V; it must be at rest (at most {AT_REST_VOLTS:g} V)."
    return ""
