"""Terminal numbers of DIN 72552: what a number means and in which key positions it is live.

The standard itself was not read. The meanings tagged "seen" were read in secondary listings
of it (among them an encyclopedia's copy at de.zxc.wiki); the others are from memory. In which
key position a terminal is live is nowhere in what was read: it is common practice, no source,
and therefore only a starting value that a measurement on the vehicle replaces.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

KeyPosition = Literal["off", "acc", "on", "start"]
Role = Literal["supply", "return", "load"]

KEY_POSITIONS: tuple[KeyPosition, ...] = ("off", "acc", "on", "start")

ALWAYS: frozenset[KeyPosition] = frozenset(KEY_POSITIONS)
NEVER_BY_KEY: frozenset[KeyPosition] = frozenset()

_SEEN = "DIN 72552, meaning read in secondary listings; key positions: common practice, no source"
_MEMORY = "DIN 72552, meaning from memory; key positions: common practice, no source"


@dataclass(frozen=True, slots=True)
class Terminal:
    """One terminal number.

    `role` says how to read `live_in`:

    - ``supply``: the key alone decides; `live_in` holds the key positions in which the
      terminal carries battery voltage.
    - ``return``: the ground side; it feeds nothing, so `live_in` is empty.
    - ``load``: a switch, flasher or relay decides, not the key alone. `live_in` is empty, which
      means *not known from the key*: whoever judges such a terminal without knowing
      that switch has to answer UNKNOWN, never OFF and never ON.

    `source` says honestly where meaning and positions come from.
    """

    number: str
    words: str
    live_in: frozenset[KeyPosition]
    source: str
    role: Role = "supply"


def _load(number: str, words: str) -> Terminal:
    return Terminal(number, words, NEVER_BY_KEY, _MEMORY, role="load")


_ALL = (
    Terminal("30", "battery positive, constant", ALWAYS, _SEEN),
    Terminal("30a", "second battery positive, constant", ALWAYS, _SEEN),
    Terminal("15", "ignition, switched positive (run)", frozenset({"on", "start"}), _SEEN),
    # Accessory feeds are dropped while cranking on most cars, to leave the current to the starter.
    Terminal("15R", "accessory, switched positive", frozenset({"acc", "on"}), _MEMORY),
    Terminal("75", "accessory: radio, lighter outlet", frozenset({"acc", "on"}), _MEMORY),
    Terminal("50", "starter control", frozenset({"start"}), _SEEN),
    Terminal("31", "return to battery negative, ground", NEVER_BY_KEY, _SEEN, role="return"),
    Terminal("31b", "return through a switch or relay", NEVER_BY_KEY, _SEEN, role="return"),
    _load("49", "flasher unit, input"),
    _load("49a", "flasher unit, output"),
    _load("54", "stop lamp"),
    _load("58", "tail, position and plate lamps"),
    _load("58L", "tail and position lamps, left"),
    _load("58R", "tail and position lamps, right"),
    _load("L", "turn signal, left"),
    _load("R", "turn signal, right"),
    _load("85", "relay coil, ground end"),
    _load("86", "relay coil, feed end"),
    _load("87", "relay contact, closed when the coil is energised"),
    _load("87a", "relay contact, closed when the coil is at rest"),
)

TERMINALS: dict[str, Terminal] = {terminal.number: terminal for terminal in _ALL}


def supplied_in(position: KeyPosition) -> frozenset[str]:
    """Return the numbers of the supply terminals live with the key in `position`.

    These are starting values (see the module's note on sources); relay and lamp
    terminals are never among them because the key alone does not decide them.
    Raises ValueError for a position that is not one of `KEY_POSITIONS`.
    """
    if position not in KEY_POSITIONS:
        raise ValueError(f"{position!r} is no key position; use one of {', '.join(KEY_POSITIONS)}")
    return frozenset(number for number, t in TERMINALS.items() if position in t.live_in)
