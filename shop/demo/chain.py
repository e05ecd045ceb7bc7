"""What the demo's shop read off the labels between coach and car, and measured as hitched."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from installs.models import Component, Fitting
from installs.services import parts
from vehicles import services as vehicles
from vehicles.domain.units import Kind, to_canonical
from vehicles.models import Combination, Reading, Vehicle
from vehicles.records import Actor

# By the role of the part: pounds, the lower end of a range, amp-hours.
LABELS = {
    "tow_bar": (6_500, None, None),
    "base_plate": (5_000, None, None),
    "safety_cables": (6_000, None, None),
    "brake_unit": (6_000, 2_000, None),
    "breakaway_battery": (None, None, 5),
}
# Inches: each free length longer than the one before, the bar nearly level.
HITCHED = {
    "bar_length_mm": "62", "bar_rise_mm": "1.5", "cables_mm": "68", "lanyard_mm": "74",
    "cord_mm": "82", "slack_mm": "11", "full_lock_mm": "9", "loop_mm": "6",
}  # fmt: skip


@dataclass(frozen=True)
class Told:
    """What differs from chain to chain: pounds, what the cables' number means, inches."""

    receiver_lb: int
    scaled_lb: int
    cables_basis: str = Component.RatingBasis.WORKING
    lanyard_in: str = HITCHED["lanyard_mm"]


# By the key of the car: a receiver too weak with cables nobody understands, a chain that holds,
# and a lanyard that comes taut before the cables do.
CHAINS = {
    "old_battery": Told(3_500, 3_720),
    "snowbird": Told(5_000, 3_540, Component.RatingBasis.BREAKING),
    "no_email": Told(5_000, 3_690, Component.RatingBasis.BREAKING, lanyard_in="62"),
}


def measure_chain(pair: Combination, told: Told, *, day: date, actor: Actor) -> None:
    """Record every label of a combination, its scale ticket, its lengths and its currents."""
    hitched = {**HITCHED, "lanyard_mm": told.lanyard_in}
    receiver_lb, scaled_lb = told.receiver_lb, told.scaled_lb
    _change(pair.motorhome, actor, receiver_kg=receiver_lb)
    _change(
        pair.towed,
        actor,
        weight_kg=scaled_lb,
        told={
            "weight_kind": Vehicle.WeightKind.SCALED_LOADED,
            "weighed_on": day,
            "battery_ah": Decimal(60),
            "battery_type": Vehicle.BatteryType.AGM,
        },
    )
    for fitting in (
        Fitting.objects.current().filter(vehicle=pair.towed).select_related("component__kind")
    ):
        _rate(fitting.component, told.cables_basis, actor)
    lengths = {
        name: to_canonical(Kind.LENGTH, Decimal(inches), "in").quantize(Decimal("0.1"))
        for name, inches in hitched.items()
    }
    vehicles.measure_combination(
        combination=pair,
        changes={
            **lengths,
            "ball_mount": Combination.BallMount.NONE,
            "lanyard_anchor": Combination.Anchor.FRAME_EYE,
            "measured_on": day,
            "as_typed": {n: {"number": i, "unit": "in"} for n, i in hitched.items()},
        },
        version=pair.version,
        actor=actor,
    )
    for what, amps in ((Reading.What.DRAW, "0.9"), (Reading.What.HOLD, "9.5")):
        vehicles.add_reading(
            vehicle=pair.towed, what=what, value=Decimal(amps), typed=f"{amps} A", on=day,
            actor=actor,
        )  # fmt: skip


def _kg(pounds: int) -> Decimal:
    return to_canonical(Kind.MASS, Decimal(pounds), "lb").quantize(Decimal("0.01"))


def _typed(pounds: int) -> dict[str, str]:
    return {"number": f"{pounds:,}", "unit": "lb"}


def _change(
    vehicle: Vehicle, actor: Actor, *, told: dict[str, Any] | None = None, **pounds: int
) -> None:
    vehicle.refresh_from_db()
    vehicles.change_vehicle(
        vehicle=vehicle,
        changes={
            **{name: _kg(value) for name, value in pounds.items()},
            **(told or {}),
            "as_typed": {**vehicle.as_typed, **{n: _typed(v) for n, v in pounds.items()}},
        },
        version=vehicle.version,
        actor=actor,
    )


def _rate(component: Component, cables_basis: str, actor: Actor) -> None:
    rating, least, hours = LABELS.get(component.kind.role, (None, None, None))
    changes: dict[str, Any] = {"as_typed": {}}
    for name, pounds in (("rating_kg", rating), ("least_kg", least)):
        if pounds is not None:
            changes[name] = _kg(pounds)
            changes["as_typed"][name] = _typed(pounds)
    if component.kind.role == "safety_cables":
        changes["rating_basis"] = cables_basis
    if hours is not None:
        changes["capacity_ah"] = Decimal(hours)
    if len(changes) > 1:
        changes["rating_source"] = "its label"
        parts.change_component(
            component=component, changes=changes, version=component.version, actor=actor
        )
