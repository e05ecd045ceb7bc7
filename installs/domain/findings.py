"""Findings and cures: what stands in the way, how grave it is, and what would help.

Severities are the signal words of ANSI Z535.4: WARNING could end in death or serious injury,
CAUTION in minor or moderate injury, NOTICE is about damage only. A finding that blocks keeps
the proof from being signed. An unknown answer always blocks; an unknown number does not by
itself, because signing asks for the very reading that tells it (see ``numeric_findings.py``).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """ANSI Z535.4 signal words, gravest first. DANGER is left to what kills for certain."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


SEVERITIES = tuple(Severity)


class Code(StrEnum):
    """What was found. The first six can be named in a kind's ``cures``."""

    NO_POWER = "no_power"
    TIMED_POWER = "timed_power"
    CONDITIONAL_POWER = "conditional_power"
    STAYS_AWAKE = "stays_awake"
    SUPPLY_TOO_SMALL = "supply_too_small"
    FUSE_OVERLOADED = "fuse_overloaded"
    NOT_KNOWN = "not_known"
    NOT_RECORDED = "not_recorded"
    FEED_NOT_RECORDED = "feed_not_recorded"
    RATING_NOT_KNOWN = "rating_not_known"
    NO_MARGIN = "no_margin"
    NO_OWN_FUSE = "no_own_fuse"
    OWN_FUSE_TOO_SMALL = "own_fuse_too_small"
    CAN_BE_CHANGED = "can_be_changed"
    NOT_ALLOWED = "not_allowed"
    NOT_ESTABLISHED = "not_established"
    UNVERIFIED_SOURCE = "unverified_source"
    KEY_NOT_STATED = "key_not_stated"
    STEP_ORDER = "step_order"
    NOT_ON_MAP = "not_on_map"
    FUSE_IN_WORDS = "fuse_in_words"
    LAMP_SWITCH = "lamp_switch"
    OTHER_RANGE = "other_range"
    RANGE_NOT_CONFIRMED = "range_not_confirmed"
    FAILED_LOOK = "failed_look"
    WEAK_LOOK = "weak_look"
    NO_BRAKE_UNIT = "no_brake_unit"
    VOLTS_TOO_LOW = "volts_too_low"
    VOLTS_NOT_KNOWN = "volts_not_known"
    READINGS_DISAGREE = "readings_disagree"
    WIRE_TOO_SMALL = "wire_too_small"
    FUSE_TOO_LARGE = "fuse_too_large"
    SHORTED = "shorted"
    TOO_CLOSE = "too_close"
    NUMBERS_NOT_KNOWN = "numbers_not_known"


UNKNOWN_CODES = frozenset(
    {
        Code.NOT_KNOWN,
        Code.NOT_RECORDED,
        Code.FEED_NOT_RECORDED,
        Code.RATING_NOT_KNOWN,
        Code.NOT_ESTABLISHED,
        Code.KEY_NOT_STATED,
        Code.NOT_ON_MAP,
        Code.FUSE_IN_WORDS,
        Code.RANGE_NOT_CONFIRMED,
        Code.VOLTS_NOT_KNOWN,
        Code.NUMBERS_NOT_KNOWN,
    }
)


@dataclass(frozen=True, slots=True)
class Cure:
    """One way out, with what else would then die, stay awake or have to be added.

    ``code``: ``other_feed``, ``tap_side``, ``ground``, ``outlet``, ``battery_direct``,
    ``charge_line``, ``own_battery``, ``bypass_switch``, ``added_part``, ``larger_fuse``,
    ``measure``, ``record``, ``reorder``, ``look_again``, ``fit``. ``feed`` and ``ground`` are the
    connection proposed, where the cure is one.
    """

    code: str
    title: str
    notes: tuple[str, ...] = ()
    feed: str = ""
    ground: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that stands in the way (``blocking``) or should be seen.

    ``component`` is a fitting's id, ``load:ID`` for a load of the car, ``fuse:ID`` for a fuse,
    ``procedure`` for the procedure; ``port`` is the fitting's port. ``states`` names where it
    holds; one ending in ``+pedal`` is judged with the brake pedal pressed.
    """

    code: Code
    severity: Severity
    blocking: bool
    title: str
    why: str = ""
    states: tuple[str, ...] = ()
    component: str = ""
    port: str = ""
    cures: tuple[Cure, ...] = ()

    @property
    def state(self) -> str:
        """The states as one text: ``tow, breakaway``."""
        return ", ".join(self.states)

    @property
    def is_unknown(self) -> bool:
        """True where something is missing from the record, not where something is wrong."""
        return self.code in UNKNOWN_CODES


def state_words(state: str) -> str:
    """A state in a sentence: ``tow+pedal`` -> ``in tow with the pedal pressed``."""
    name, _, pedal = state.partition("+")
    words = {"drive": "when driving", "tow": "in tow", "breakaway": "after a breakaway"}[name]
    return f"{words} with the brake pedal pressed" if pedal else words


def join_states(states: tuple[str, ...]) -> str:
    """Several states in a sentence: ``in tow and after a breakaway``."""
    return " and ".join(state_words(state) for state in states)


def gravest_first(findings: list[Finding]) -> tuple[Finding, ...]:
    """Blocking before the rest, graver before lighter, otherwise in the order found."""
    return tuple(sorted(findings, key=lambda f: (not f.blocking, SEVERITIES.index(f.severity))))
