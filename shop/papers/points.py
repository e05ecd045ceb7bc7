"""What the shop tells everybody who hooks up: printed on the card, said at the hand-over.

Common practice, no source. The makers' instructions come first and may ask for something else.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Alarm:
    """What is noticed on the way, and what it asks of the driver."""

    noticed: str
    asks: str


# Said of a brake unit of whatever kind, and of one that presses the pedal.
BRAKE_BEFORE = (
    "Where the unit presses the pedal: press the pedal 6 to 8 times before the unit is connected, "
    "so that no stored vacuum is left.",
    "The unit's power cord goes in last.",
)
BRAKE_RUN = (
    "Was the engine run with the unit in place? Then, engine off, run the unit's self-test twice "
    "before driving on: it brakes too hard otherwise.",
)
BRAKE_AFTER = ("The unit's power cord comes out first: a powered unit can act when it is moved.",)

BRAKE_ALARMS = (
    Alarm(
        "Brake unit: alarm, or it shows braking while nobody brakes",
        "Stop as soon as traffic allows, off the road. Feel for heat near the wheels without "
        "touching them. Do not tow on until it is found and mended.",
    ),
    Alarm(
        "Brake unit: no light, no answer at the self-test",
        "The towed vehicle does not brake. Stop, look at cord and fuse. Do not count on it.",
    ),
)
BREAKAWAY_ALARMS = (
    Alarm(
        "Breakaway pin is out, or the towed vehicle brakes by itself",
        "Stop off the road. Look at arm, pins and chains before anything else. Put the pin back "
        "only when all of it holds: the battery runs down while it is out.",
    ),
)
ANY_ALARMS = (
    Alarm(
        "Display in the coach: no signal from the towed vehicle",
        "Nobody watches it now. Stop at the next place, find out why before driving on.",
    ),
    Alarm("Any other alarm, smell, smoke or pull", "Stop off the road, look, call the shop."),
)
