"""The order of a procedure's steps: what must come first, and what is dead by then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from vehicles.domain.answers import Value
from vehicles.domain.feedmap import BUS, FeedMap
from vehicles.domain.feeds import LivePaths
from vehicles.domain.procedure import Procedure, Step, state_after, steps_before


@dataclass(frozen=True, slots=True)
class OrderFault:
    """A step that cannot be right where it stands, why, and where it belongs if that is known."""

    step: int
    sentence: str
    proposal: str = ""


def order_faults(procedure: Procedure, feed_map: FeedMap) -> list[OrderFault]:
    """Pulled fuses that nothing puts back, broken ``after``, and points dead when needed."""
    faults: list[OrderFault] = []
    for at, step in enumerate(procedure.steps):
        if step.action == "fuse_out" and not step.reverse:
            faults.append(
                OrderFault(
                    step.no,
                    f"fuse {step.target} is pulled, but no reverse step puts it back.",
                    f"Add to step {step.no}: put fuse {step.target} back before driving.",
                )
            )
        faults += _too_early(procedure, step, at)
        faults += _dead_by_then(procedure, step, feed_map)
    return faults


def _too_early(procedure: Procedure, step: Step, at: int) -> Iterator[OrderFault]:
    earlier = {other.no for other in procedure.steps[:at]}
    for number in step.after:
        if number not in earlier:
            yield OrderFault(
                step.no,
                f"it must come after step {number}.",
                f"Do step {number} first, then step {step.no}.",
            )


def needed_point(step: Step, feed_map: FeedMap) -> str:
    """The point that must be alive for this step; an electric parking brake needs the battery."""
    if step.needs_live:
        return step.needs_live
    if step.action == "parking_brake" and feed_map.electric_parking_brake:
        return BUS
    return ""


def _dead_by_then(procedure: Procedure, step: Step, feed_map: FeedMap) -> Iterator[OrderFault]:
    point = needed_point(step, feed_map)
    # A point that the map lacks is no matter of order, and wrong wherever the step stands.
    if not point or (step.needs_live and point not in feed_map.points):
        return
    before = steps_before(procedure.steps, step.no)
    answer = LivePaths(feed_map, state_after(before)).point(point)
    if answer.value is Value.ON:
        return
    what = "the battery feed" if point == BUS else point
    killer = _first_without(before, point, feed_map)
    proposal = f"Move step {step.no} ahead of step {killer.no}." if killer else ""
    state = "dead by then" if answer.value is Value.OFF else f"{answer.value} by then"
    yield OrderFault(step.no, f"{what} is needed and {state}: {answer.why}.", proposal)


def _first_without(before: tuple[Step, ...], point: str, feed_map: FeedMap) -> Step | None:
    """The first step after which the point is no longer plainly alive."""
    state = replace(state_after(()), name="tow")
    if LivePaths(feed_map, state).point(point).value is not Value.ON:
        return None
    for step in before:
        state = state_after((step,), state)
        if LivePaths(feed_map, state).point(point).value is not Value.ON:
            return step
    return None
