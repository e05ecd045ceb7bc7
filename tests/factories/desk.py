"""An invented vehicle with gear in trouble, loaded through its sheet as a person would."""

import copy
from datetime import date
from typing import Any

from shop.people.models import Customer
from shop.people.services import PersonLine, Reach, add_customer
from shop.sheets import load_sheet
from vehicles.models import Vehicle
from vehicles.records import Actor

ACTOR = Actor("Mara Tennant")
TODAY = date(2026, 11, 24)

_FUSES = [
    # id, feed, amps, row, col, what is behind
    ("F05", "terminal:30", 10, 1, 1, "clock"),
    ("F06", "terminal:30", 10, 1, 2, "door locks"),
    ("F07", "terminal:15", 15, 1, 3, "wipers"),
    ("F08", "terminal:15R", 7.5, 1, 4, "radio, dash outlet"),
    ("F09", "terminal:30", 20, 1, 5, "seat heating"),
    ("F10", "terminal:15", 5, 1, 6, "instruments"),
    ("F20", "switch:pedal", 10, 2, 1, "stop lamps"),
    ("F21", "terminal:30", 15, 2, 2, "hazard lamps"),
    ("F22", "terminal:30", 15, 2, 3, "horn"),
    ("F27", "terminal:30", 20, 2, 4, "rear outlet"),
    ("F33", "terminal:15", 10, 2, 5, "gearbox controller"),
    ("F34", "terminal:30", 30, 2, 6, "blower"),
]

KINDS: dict[str, Any] = {
    "brake_unit": {
        "name": "Brake unit",
        "ports": [
            {
                "name": "supply",
                "demand": {"drive": "any", "tow": "on", "breakaway": "on"},
                "min_supply_a": 15,
                "peak_a": 12,
                "consequence": "The towed vehicle does not brake.",
            }
        ],
    },
    "transmitter": {
        "name": "Transmitter",
        "ports": [{"name": "supply", "demand": {"tow": "on"}, "standby_a": 0.05, "peak_a": 1}],
    },
    "stop_lamp_relay": {
        "name": "Stop-lamp relay",
        "ports": [{"name": "coil", "demand": {"tow": "off"}, "peak_a": 0.2}],
    },
    "breakaway_switch": {
        "name": "Breakaway switch",
        "ports": [
            {
                "name": "battery",
                "demand": {"drive": "any", "tow": "any", "breakaway": "on"},
                "peak_a": 10,
            }
        ],
        "about": {"life_years": 5, "wears": "Pin, spring and the battery behind it."},
    },
    "charger": {"name": "Trickle charger", "cures": ["stays_awake"], "cure_text": "Keeps it up."},
}


def _part(name: str, kind: str, serial: str, mounted: str, **ports: Any) -> dict[str, Any]:
    return {"id": name, "kind": kind, "serial": serial, "mounted": mounted, "ports": ports}


def crestline(number: int = 1, **changes: Any) -> dict[str, Any]:
    """Return the sheet of a vehicle whose outlet dies with the accessory fuse.

    The `number` makes VIN, plate and serials different, so that several can be loaded.
    """
    document = {
        "pullpin_sheet": 1,
        "vehicle": {
            "name": "2019 Alder Crestline",
            "make": "Alder",
            "model": "Crestline",
            "year": 2019,
            "engine": "2.4 l",
            "gearbox": "automatic",
            "drive": "front",
            "plate": f"QZ {4470 + number}",
            "vin": f"ZPA{number:05}XK7{33180 + number:06}",
            "weights": {"gvwr_kg": 2050, "weight_kg": 1655.5},
            "about": {"colour": "slate", "weight_kind": "scaled_loaded"},
        },
        "range": {
            "make": "Alder",
            "model": "Crestline",
            "year_from": 2017,
            "year_to": 2020,
            "gearbox": "automatic",
        },
        "feed_map": {
            "known": "measured",
            "terminals": [{"id": "30"}, {"id": "15R"}, {"id": "15"}],
            "switches": [
                {
                    "id": "pedal",
                    "feed": "terminal:30",
                    "closed_when": "pedal",
                    "name": "pedal switch",
                }
            ],
            "fuses": [
                {
                    "id": name,
                    "feed": feed,
                    "rating_a": amps,
                    "blade": "mini",
                    "box": "dash box, left",
                    "row": row,
                    "col": col,
                    "behind": [behind],
                }
                for name, feed, amps, row, col, behind in _FUSES
            ],
            "outlets": [
                {"id": "dash", "feed": "fuse:F08", "name": "dash outlet"},
                {"id": "rear", "feed": "fuse:F27", "name": "rear outlet", "timer_minutes": 20},
            ],
            "loads": [
                {
                    "id": "assist",
                    "name": "steering assist",
                    "feed": "fuse:F33",
                    "needs": {"tow": "off"},
                    "consequence": "The front wheels may not follow.",
                }
            ],
            "disconnect": {"leg": "none"},
        },
        "procedure": {
            "verdict": "allowed",
            "source": {
                "kind": "document",
                "title": "Owner's manual",
                "edition": "2nd edition",
                "page": "212",
                "read_on": "2026-03-14",
                "read_by": "Robin Sedge",
            },
            "steps": [
                {"no": 1, "action": "parking_brake", "value": "set"},
                {"no": 2, "action": "engine_run", "value": 3},
                {"no": 3, "action": "gear", "value": "N"},
                {"no": 4, "action": "key", "value": "acc", "reverse": "Turn the key to OFF"},
                {"no": 5, "action": "fuse_out", "target": "F08", "reverse": "Put F08 back"},
                {"no": 6, "action": "parking_brake", "value": "release"},
            ],
            "limits": {"max_speed_mph": 65, "engine_run_every_h": 8, "engine_run_minutes": 5},
        },
        "kinds": KINDS,
        "fittings": [
            _part(
                "A",
                "brake_unit",
                f"PB-{20416 + number}",
                "driver's footwell",
                supply={"feed": "outlet:dash", "ground": "body"},
            ),
            _part(
                "B",
                "transmitter",
                f"T-{88119 + number}",
                "under the dash, left",
                supply={"feed": "fuse:F21", "ground": "unknown", "own_fuse_a": 5},
            ),
            _part(
                "C",
                "stop_lamp_relay",
                f"R-{3000 + number}",
                "behind the fuse box",
                coil={"feed": "fuse:F20", "ground": "body", "own_fuse_a": 3},
            ),
            {
                **_part(
                    "D",
                    "breakaway_switch",
                    f"BK-{500 + number}",
                    "front crossmember",
                    battery={"feed": "own", "ground": "own"},
                ),
                "date_code": "2023-04",
                "about": {"since": "2025-12-14"},
            },
        ],
    }
    return copy.deepcopy(document) | changes


def okafors(**fields: Any) -> Customer:
    """Add a customer with two persons, two phones and an address."""
    told: dict[str, Any] = {
        "name": "Ines and Paul Okafor",
        "called": "Ines",
        "address": "7 Sorrel Lane\nLarkfield, CO 80044",
        "time_zone": "America/Denver",
    }
    reach = Reach(
        persons=[PersonLine("Paul Okafor", part="hooks up", hooks_up=True)],
        phones=["(303) 555-0187", "+1 303 555 0188 x12"],
        emails=["ines@okafor.example"],
    )
    return add_customer(actor=ACTOR, reach=reach, **{**told, **fields})


def a_crestline(number: int = 1, *, customer: Customer | None = None, **changes: Any) -> Vehicle:
    """Load a crestline into the records, for a customer if one is given."""
    return load_sheet(
        crestline(number, **changes),
        actor=ACTOR,
        today=TODAY,
        customer=customer,
        since=date(2025, 6, 1),
    )
