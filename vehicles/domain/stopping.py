"""Stopping from 20 mph: shares of braking force and what the towed car has to add.

An illustration to talk about, not a verdict on a combination: tyres, road and heat are not in
it, and which rule applies where is for the authority to say.
"""

from __future__ import annotations

from dataclasses import dataclass

from vehicles.domain.inputs import not_negative, number, positive

G_FT_S2 = 32.174
_MPH_FT_S = 5280 / 3600


def deceleration(share: float) -> float:
    """Return ft/s² for a braking force that is `share` of the weight (0.435 gives 14)."""
    return not_negative("share of braking force", share) * G_FT_S2


def stop_distance(mph: float, ft_s2: float) -> float:
    """Return the feet of a stop from `mph` at a steady `ft_s2`, without reaction: v²/2a."""
    speed = not_negative("speed", mph) * _MPH_FT_S
    return speed * speed / (2 * positive("deceleration", ft_s2))


@dataclass(frozen=True, slots=True)
class Braking:
    """What a combination makes of its brakes, and the force that is missing from the car.

    `share` of the combination's weight, `ft_s2`, `wanted_lbf` that the car must add (0 where the
    coach alone does it) and that force as `car_share` of the car's weight.
    """

    share: float
    ft_s2: float
    wanted_lbf: float
    car_share: float


def braking(coach_lb: float, car_lb: float, *, coach_share: float, wanted_share: float) -> Braking:
    """Reckon a coach that brakes `coach_share` of its own weight with an unbraked car behind it.

    Weights in lb; `wanted_share` of the combination's weight is what is asked for. Raises
    InputError for weights that are not above 0 and negative shares.
    """
    coach, car = positive("coach's weight", coach_lb), positive("towed weight", car_lb)
    force = not_negative("coach's braking share", coach_share) * coach
    wanted = not_negative("wanted braking share", wanted_share) * (coach + car)
    share = number("share", force / (coach + car))
    lacking = max(0.0, wanted - force)
    return Braking(share, deceleration(share), lacking, lacking / car)
