"""The chain of one combination, put together from what coach, car and fitted parts are rated for.

Masses are kilograms; None stands for what nobody recorded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vehicles.domain.bands import Band, Unknown
from vehicles.domain.inputs import InputError
from vehicles.domain.limits import CABLE_RULE, COACH_BASIS
from vehicles.domain.ratings import (
    Allowance,
    Basis,
    Chain,
    Link,
    Part,
    Weighed,
    cables_link,
    coach_allowance,
    judge_chain,
    towed_weight,
)


@dataclass(frozen=True, slots=True)
class Coach:
    """What the motorhome's labels and its scale ticket say; `label_kg` is its hitch label."""

    gcwr_kg: float | None = None
    gvwr_kg: float | None = None
    scaled_kg: float | None = None
    label_kg: float | None = None
    receiver_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Towed:
    """What is known of the towed weight: a scale ticket of the loaded car, its GVWR."""

    scaled_kg: float | None = None
    gvwr_kg: float | None = None


@dataclass(frozen=True, slots=True)
class BallMount:
    """Whether a ball mount or drop lies between receiver and bar (None: nobody looked)."""

    there: bool | None = None
    rating_kg: float | None = None


@dataclass(frozen=True, slots=True)
class RatedPart:
    """A fitted part of the chain. `least_kg` and `basis` as in `Link` and `Basis`."""

    part: Part
    name: str
    rating_kg: float | None
    least_kg: float | None = None
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class Combined:
    """The judged chain, what the weight rests on, and what contradicts itself."""

    chain: Chain
    weighed: str
    notes: tuple[str, ...]


def combine(
    coach: Coach,
    towed: Towed,
    mount: BallMount,
    parts: Sequence[RatedPart],
    *,
    unit: str = "lb",
    basis: str = COACH_BASIS,
    rule: str = CABLE_RULE,
    scale_share: float | None = None,
) -> Combined:
    """Judge the chain from coach to car. `unit` (kg or lb) is for sentences only.

    `basis`, `rule` and `scale_share` (error of a scale) are a shop's settings.
    Ratings that contradict each other leave the coach's allowance unknown and are told in
    `notes`. A part that every combination has and that is not among `parts` is unknown.
    """
    weight, weighed = _weight(towed, scale_share)
    allowance, notes = _allowance(coach)
    links = (
        allowance.link(basis),
        *_coach_links(coach, mount),
        *_part_links(parts, rule),
    )
    return Combined(judge_chain(weight, links, unit=unit), weighed, notes)


def _weight(towed: Towed, scale_share: float | None) -> tuple[Band | Unknown, str]:
    if towed.scaled_kg is not None:
        weight = towed_weight(towed.scaled_kg, Weighed.SCALED, scale_share=scale_share)
        return weight, "scale ticket, loaded"
    if towed.gvwr_kg is not None:
        words = "its GVWR, which stands in for a scale ticket on the heavy side"
        return towed_weight(towed.gvwr_kg, Weighed.GVWR), words
    return towed_weight(None, None), ""


def _allowance(coach: Coach) -> tuple[Allowance, tuple[str, ...]]:
    try:
        found = coach_allowance(
            gcwr_kg=coach.gcwr_kg, gvwr_kg=coach.gvwr_kg, scaled_kg=coach.scaled_kg
        )
    except InputError as fault:
        return Allowance(None, None), (str(fault),)
    return found, found.notes


def _coach_links(coach: Coach, mount: BallMount) -> Iterator[Link]:
    if coach.label_kg is not None:
        yield Link(Part.COACH_LABEL, coach.label_kg)
    yield Link(Part.RECEIVER, coach.receiver_kg, measure="read the rating on the receiver's label")
    if mount.there is None and mount.rating_kg is None:
        ask = "look whether a ball mount or drop lies between receiver and bar"
        yield Link(Part.BALL_MOUNT, None, measure=ask)
    elif mount.there is not False:
        ask = "read the rating stamped on the ball mount or drop"
        yield Link(Part.BALL_MOUNT, mount.rating_kg, measure=ask)


def _part_links(parts: Sequence[RatedPart], rule: str) -> Iterator[Link]:
    cables = [part for part in parts if part.part is Part.SAFETY_CABLES]
    for expected in (Part.COUPLER, Part.TOW_BAR, Part.BASE_PLATE):
        found = [part for part in parts if part.part is expected]
        for part in found:
            ask = f"read the rating on the label of the {part.name or part.part.value}"
            yield Link(part.part, part.rating_kg, part.name, part.least_kg, ask)
        if not found and expected is not Part.COUPLER:
            ask = f"record which {expected.value} is fitted, and its rating"
            yield Link(expected, None, measure=ask)
    if cables:
        bases = {part.basis for part in cables}
        yield cables_link(
            [part.rating_kg for part in cables],
            basis=bases.pop() if len(bases) == 1 else None,
            rule=rule,
        )
    else:
        ask = "record which safety cables are used, and their rating"
        yield Link(Part.SAFETY_CABLES, None, measure=ask)
    for part in parts:
        if part.part is Part.BRAKE_UNIT:
            ask = f"read from which to which weight the {part.name or 'brake unit'} is made for"
            yield Link(part.part, part.rating_kg, part.name, part.least_kg, ask)
