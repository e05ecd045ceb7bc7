"""How long judging takes in pure Python: one vehicle, and all of a night's."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from installs.domain.basis import basis_of, fingerprint
from installs.domain.needs import judge
from installs.domain.sheet import Sheet, parse_sheet
from installs.services.judging import Keys, kept, rejudged
from vehicles.domain.limit_set import START

Figure = dict[str, Any]

ONE_VEHICLE_MS = 2.0
NIGHT_S = 60.0
NIGHT_VEHICLES = 10_000
NIGHT_SCALE = f"{NIGHT_VEHICLES} vehicles, one core"
SAMPLE = 300
ROUNDS = 50
CONSTANT, KEY, ACCESSORY = "terminal:30", "terminal:15", "terminal:15R"


def vehicle_sheet() -> dict[str, Any]:
    """12 fuses, 10 fittings, 3 states, and the troubles of a bad day: four ports unmet."""
    feeds = [CONSTANT] * 5 + [KEY] * 4 + [ACCESSORY] * 3
    fuses = [
        {
            "id": f"F{n:02}",
            "feed": feed,
            "rating_a": (5, 10, 15, 20)[n % 4],
            "behind": [f"load {n}"],
        }
        for n, feed in enumerate(feeds, 1)
    ]
    port = {"name": "power", "demand": {"tow": "on", "breakaway": "on"}, "peak_a": 1}
    kinds = {
        "unit": {"name": "Brake unit", "ports": [
            {**port, "demand": {"tow": "on"}, "min_supply_a": 15, "peak_a": 10, "standby_a": 0.2}]},
        "transmitter": {"name": "Transmitter", "ports": [port]},
        "relay": {"name": "Stop-lamp relay", "ports": [
            {**port, "demand": {"drive": "on", "tow": "off"}, "peak_a": 0.2}]},
        "breakaway": {"name": "Breakaway switch", "ports": [port]},
        "outlet_kit": {"name": "Separate outlet kit", "cures": ["no_power", "supply_too_small"]},
    }  # fmt: skip
    connections = [
        ("unit", "outlet:dash"),
        ("transmitter", "fuse:F02"),
        ("transmitter", "fuse:F11"),
        ("transmitter", "fuse:F03@supply"),
        ("transmitter", "unknown"),
        ("relay", "fuse:F06@supply"),
        ("relay", "fuse:F04"),
        ("relay", "relay:R1"),
        ("breakaway", "own"),
        ("transmitter", "fuse:F05"),
    ]
    return {
        "pullpin_sheet": 1,
        "vehicle": {"name": "2019 Alder Crestline"},
        "feed_map": {
            "known": "document",
            "terminals": [{"id": "30"}, {"id": "15"}, {"id": "15R"}],
            "fuses": fuses,
            "relays": [{"id": "R1", "coil": "fuse:F07", "feed": "fuse:F04"}],
            "outlets": [{"id": "dash", "feed": "fuse:F11", "rating_a": 20}],
            "loads": [
                {"id": "eps", "name": "steering assist", "feed": KEY, "needs": {"tow": "off"}},
                {"id": "radio", "feed": "fuse:F11", "needs": {"tow": "any"}},
            ],
            "disconnect": {"leg": "negative"},
        },
        "procedure": {
            "verdict": "allowed",
            "source": {"kind": "document"},
            "steps": [
                {"no": 1, "action": "gear", "value": "N"},
                {"no": 2, "action": "key", "value": "acc"},
                {"no": 3, "action": "fuse_out", "target": "F11", "reverse": "Put F11 back"},
            ],
        },
        "kinds": kinds,
        "fittings": [
            {
                "id": f"A{n}",
                "kind": kind,
                "ports": {
                    "power": {"feed": feed, "ground": "own" if feed == "own" else "body"}
                },
            }
            for n, (kind, feed) in enumerate(connections, 1)
        ],
    }  # fmt: skip


def _best_of(times: int, work: Callable[[], object]) -> float:
    """The quickest of several runs in seconds of this process: a busy machine only adds to it."""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def bench_judge(database: str) -> list[Figure]:
    """One vehicle judged with its cures (warm), and a night's vehicles with their basis.

    Nothing here touches a database, so it runs once, beside SQLite.
    """
    if database != "sqlite":
        return []
    document = vehicle_sheet()
    sheet = parse_sheet(document)

    def one() -> None:
        for _ in range(ROUNDS):
            judge(sheet)

    def night() -> None:
        for _ in range(SAMPLE):
            fresh = Sheet.from_dict(document)
            fingerprint(basis_of(fresh, judge(fresh)))

    first = rejudged(sheet, limits=START, keys=Keys(START), proof=None, kept={})
    held = kept(first)

    def night_with_numbers() -> None:
        keys = Keys(START)
        for _ in range(SAMPLE):
            # Every one with a feed map of its own: the dearest night there can be.
            fresh = Sheet.from_dict(document)
            rejudged(fresh, limits=START, keys=keys, proof=None, kept=held)

    one()
    each_ms = _best_of(9, one) / ROUNDS * 1000
    night_s = _best_of(3, night) / SAMPLE * NIGHT_VEHICLES
    numbered_s = _best_of(3, night_with_numbers) / SAMPLE * NIGHT_VEHICLES
    scale = "12 fuses, 10 fittings, 3 states"
    return [
        figure("judging one vehicle, cures included", each_ms, "ms", ONE_VEHICLE_MS, scale),
        figure("judging anew with basis, no database", night_s, "s", NIGHT_S, NIGHT_SCALE),
        figure("the same with numbers kept", numbered_s, "s", NIGHT_S, NIGHT_SCALE),
    ]


def figure(name: str, value: float, unit: str, limit: float, scale: str) -> Figure:
    return {"name": name, "value": value, "unit": unit, "limit": limit, "scale": scale}
