"""What a vehicle is, as facts for parts/facts.html."""

from decimal import Decimal
from typing import Any

from shop.units_shown import METRIC
from vehicles.domain.units import Kind, shown
from vehicles.models import FeedMapRevision, Vehicle


def mass(kg: Decimal | None, units: str) -> str:
    """Return a mass in both units, the reader's first; nothing where it is not recorded."""
    if kg is None:
        return ""
    first, second = ("kg", "lb") if units == METRIC else ("lb", "kg")
    return f"{shown(Kind.MASS, kg, first)} ({shown(Kind.MASS, kg, second)})"


def _fact(label: str, value: Any, **more: Any) -> dict[str, Any]:
    return {"label": label, "value": value, **more}


def _weight(vehicle: Vehicle, units: str) -> dict[str, Any]:
    note = vehicle.get_weight_kind_display() if vehicle.weight_kg is not None else ""
    if note and vehicle.weighed_on:
        note = f"{note}, {vehicle.weighed_on:%d %b %Y}"
    return _fact("Weight", mass(vehicle.weight_kg, units), figure=True, note=note)


def towed(vehicle: Vehicle, feed_map: FeedMapRevision | None, units: str) -> list[dict[str, Any]]:
    """Return the facts of a towed vehicle."""
    own = feed_map is not None and feed_map.vehicle_id is not None
    recorded = f"revision {feed_map.number}" if feed_map else ""
    whose = "this vehicle's own" if own else "of the range"
    return [
        _fact("VIN", vehicle.vin, figure=True, wide=True),
        _fact("Engine", vehicle.engine),
        _fact("Gearbox", vehicle.get_gearbox_display()),
        _fact("Drive", vehicle.get_drive_display()),
        _fact("GVWR", mass(vehicle.gvwr_kg, units), figure=True),
        _weight(vehicle, units),
        _fact("Battery", _battery(vehicle), figure=True),
        _fact(
            "Feed map",
            recorded,
            note=whose if feed_map else "",
        ),
    ]


def _battery(vehicle: Vehicle) -> str:
    if vehicle.battery_ah is None:
        return ""
    made = vehicle.get_battery_type_display() if vehicle.battery_type else ""
    return ", ".join(part for part in (f"{vehicle.battery_ah.normalize():f} Ah", made) if part)


def coach(vehicle: Vehicle) -> list[dict[str, Any]]:
    """Return what the coach builder stands for."""
    return [
        _fact("Maker", vehicle.make),
        _fact("Model", vehicle.model),
        _fact("Model year", vehicle.year, figure=True),
        _fact("Coach serial", vehicle.coach_serial, figure=True),
    ]


def chassis(vehicle: Vehicle) -> list[dict[str, Any]]:
    """Return what the chassis maker stands for; the VIN is the chassis's."""
    return [
        _fact("VIN", vehicle.vin, figure=True, wide=True),
        _fact("Maker", vehicle.chassis_make),
        _fact("Model year", vehicle.chassis_year, figure=True),
    ]


def ratings(vehicle: Vehicle, units: str) -> list[dict[str, Any]]:
    """Return what a motorhome may weigh and pull."""
    return [
        _fact("GVWR", mass(vehicle.gvwr_kg, units), figure=True),
        _fact("GCWR", mass(vehicle.gcwr_kg, units), figure=True),
        _weight(vehicle, units),
        _fact("Hitch rating", mass(vehicle.hitch_rating_kg, units), figure=True),
        _fact("Receiver rating", mass(vehicle.receiver_kg, units), figure=True),
        _fact("Stop and turn lamps", vehicle.get_lamp_scheme_display()),
    ]
