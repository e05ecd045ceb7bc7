"""Checks that a hand makes and a number cannot: neutral proved, pedal assist against setting."""

from __future__ import annotations

from enum import StrEnum

from vehicles.domain.answers import Answer, Value
from vehicles.domain.bands import Verdict


class Result(StrEnum):
    """What a person may answer to a check; nothing is ever filled in beforehand."""

    PASS = "pass"  # noqa: S105 - an answer, no password
    FAIL = "fail"
    NOT_APPLICABLE = "not applicable"


def hand_check(what: str, result: Result | None, reason: str = "") -> tuple[Verdict, str]:
    """Judge one hand check; blank, or not applicable without a reason, is UNKNOWN.

    For instance `neutral proved in R and D`: engine on, R then D, brake released for five
    seconds, no movement. One forgotten step of a transfer case has destroyed an engine.
    """
    if result is None:
        return Verdict.UNKNOWN, f"{what}: not answered."
    if result is Result.NOT_APPLICABLE and not reason.strip():
        return Verdict.UNKNOWN, f"{what}: say why it does not apply."
    if result is Result.FAIL:
        return Verdict.FAIL, f"{what}: failed."
    return Verdict.PASS, f"{what}: {reason.strip() or 'done'}."


class Setting(StrEnum):
    """What a pedal-pressing unit is set to expect."""

    ASSISTED = "assisted, low force"
    UNASSISTED = "unassisted, high force"


def assist_match(assist: Answer, setting: Setting | None) -> tuple[Verdict, str]:
    """Hold a unit's force setting against the pedal assist as the tow state leaves it.

    `assist` is the answer for the assist in the tow state. An assisted pedal needs about 20 lbf
    or less, an unassisted one may need over 200 (an owners' magazine, read). Only a plain ON or
    OFF can be matched; everything else is UNKNOWN.
    """
    if setting is None:
        return Verdict.UNKNOWN, "Read the unit's force setting."
    if assist.value not in (Value.ON, Value.OFF):
        return Verdict.UNKNOWN, f"Pedal assist in the tow state: {assist.words}; prove it first."
    alive = assist.value is Value.ON
    if alive and setting is Setting.UNASSISTED:
        return (
            Verdict.FAIL,
            "The pedal assist is alive and the unit set to high force: brakes drag or lock, and "
            "the battery is drawn on.",
        )
    if not alive and setting is Setting.ASSISTED:
        return (
            Verdict.FAIL,
            "The pedal assist is dead and the unit set to low force: little braking.",
        )
    return Verdict.PASS, "The unit's force setting fits the pedal assist."
