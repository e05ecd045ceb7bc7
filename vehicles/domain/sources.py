"""The two sources of a towed vehicle and its grounds: battery, charge line, disconnect.

Feeds name the vehicle's battery (``VEHICLE``) or the coach's charge line (``COACH``) as the
source; a circuit counts only when both of its ends reach the same one.
"""

from __future__ import annotations

from vehicles.domain.answers import NO_WAY, Answer, Value, conditional, off, on, series, unknown
from vehicles.domain.feedmap import BUS, PROVEN, FeedMap
from vehicles.domain.state import State

VEHICLE, COACH = "vehicle", "coach"

GROUND_WORDS = {
    "body": "ground at the body",
    "battery_negative_post": "ground at the battery's negative post",
    "coach": "ground through the coach's charge line",
}
# A charge line's ``ground`` by the name of the ground it lands on.
_LANDS_ON = {"body": "body", "battery_negative_post": "battery_post", "coach": ""}


class Sources:
    """What both sources bring to the posts, the bus and the grounds in one state."""

    def __init__(self, feed_map: FeedMap, state: State) -> None:
        self.map = feed_map
        self.state = state
        self.names = (VEHICLE,) if feed_map.charge_line is None else (VEHICLE, COACH)

    def plus(self, source: str, point: str) -> Answer:
        """``battery`` (post), ``bus`` (behind the disconnect) or ``coach`` from this source."""
        if point == "coach":
            if source == COACH or self.map.charge_line is None:
                return self.coach()
            return NO_WAY
        if source == VEHICLE:
            post = on("battery", "the car's battery, positive post")
            return post if point == "battery" else self._with_leg(post, "positive")
        line = self.map.charge_line
        lands_at = "battery" if line and line.lands == "battery_side" else BUS
        return self.coach() if lands_at == point else self._with_leg(self.coach(), "positive")

    def coach(self) -> Answer:
        """The charge line itself, ahead of where it lands."""
        line = self.map.charge_line
        plugged = self._plugged()
        if line is None or plugged.value is not Value.ON:
            return plugged
        if line.known not in PROVEN:
            return unknown("coach", "the coach's charge line was never measured at the car")
        if line.conditions:
            words = f"{plugged.chain[0].words}, while {' and '.join(line.conditions)}"
            return conditional("coach", words, line.conditions)
        return plugged

    def ground(self, source: str, ground: str) -> Answer:
        """``body``, ``battery_negative_post`` or ``coach`` back to this source's negative."""
        if ground not in GROUND_WORDS:
            return unknown("ground", "nobody recorded where this returns to ground")
        here = on("ground", GROUND_WORDS[ground])
        if source == COACH:
            return here if ground == "coach" else series(here, self._shared(ground))
        if ground == "battery_negative_post":
            return here
        if ground == "body":
            return self._with_leg(here, "negative")
        # The car's own battery returning through the coach's ground wire needs the plug in.
        landed = self._shared("battery_negative_post")
        return series(here, series(self._plugged(), landed))

    def _plugged(self) -> Answer:
        state = self.state
        if self.map.charge_line is None:
            return unknown("coach", "no charge line from the coach is on the feed map")
        if state.pin_pulled:
            return off("coach", "the charge line has torn off with the coach")
        if state.charge_connected is None:
            return unknown("coach", "the procedure does not say whether the charge line is plugged")
        step = state.step_of("charge")
        if not state.charge_connected:
            return off("coach", f"the coach's charge line is not plugged in{step}")
        return on("coach", f"the coach's charge line, plugged in{step}")

    def _shared(self, ground: str) -> Answer:
        """The way between the coach's ground wire and this ground of the car."""
        line = self.map.charge_line
        if line is None or line.ground == "unknown" or line.known not in PROVEN:
            return unknown("ground", "nobody recorded where the coach's ground lands on the car")
        if line.ground == "none":
            return off("ground", "the coach's charge line brings no ground to the car")
        landed = on("ground", "ground shared with the coach")
        return landed if line.ground == _LANDS_ON[ground] else self._with_leg(landed, "negative")

    def _with_leg(self, answer: Answer, leg: str) -> Answer:
        link = self._leg(leg)
        return answer if link is None else series(answer, link)

    def _leg(self, leg: str) -> Answer | None:
        """The disconnect as a link in this leg; None where there is nothing to open."""
        state, recorded = self.state, self.map.disconnect
        where = state.disconnect_leg or (recorded.leg if recorded else None)
        if not state.disconnect_open:
            if where != leg:
                return None
            return on("disconnect", f"the battery disconnect in the {leg} leg is closed")
        step = state.step_of("disconnect")
        if where in (None, "none"):
            return unknown(
                "disconnect",
                f"the battery is disconnected{step}, but nobody recorded in which leg",
            )
        if where != leg:
            return None
        return off("disconnect", f"the battery is disconnected in the {leg} leg{step}")
