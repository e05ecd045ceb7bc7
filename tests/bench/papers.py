"""What papers cost: one, fifty in a row, and a record with two dozen photos; time and memory."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from django.test import Client

from tests.bench._record import PHOTOS
from tests.factories.desk import a_crestline
from tests.factories.people import UserFactory

Figure = dict[str, Any]
ROOT = Path(__file__).resolve().parents[2]
ROW = 50
CARD_MS = 1000.0
GROWTH_MB = 20.0
SLOWER = 1.5
RECORD_S = 6.0
PEAK_MB = 400.0


def bench_row_of_cards(database: str) -> list[Figure]:
    """One tow card through its page, and fifty in a row: as fast at the end, and no larger."""
    if database != "sqlite":
        return []
    vehicle = a_crestline()
    client = Client(headers={"host": "localhost"})
    client.force_login(UserFactory.create(role="desk"))
    address = f"/vehicles/{vehicle.pk}/tow-card.pdf"

    def card() -> float:
        start = time.process_time()
        answer = client.get(address)
        assert answer.content.startswith(b"%PDF"), answer.status_code
        return time.process_time() - start

    for _ in range(5):  # what is made once is made
        card()
    before, took = _resident_mb(), [card() for _ in range(ROW)]
    first, last = sorted(took[:10])[5], sorted(took[-10:])[5]
    scale = f"{ROW} in a row"
    return [
        figure("tow card, the middle one", sorted(took)[ROW // 2] * 1000, "ms", CARD_MS, scale),
        figure("memory that stays", max(_resident_mb() - before, 0.0), "MB", GROWTH_MB, scale),
        figure("the last ten against the first ten", last / first, "times", SLOWER, scale),
    ]


def bench_record_with_photos(database: str) -> list[Figure]:
    """Two dozen photos of 12 million dots: taken in, and printed in one paper, in a fresh process.

    Taking in happens photo by photo as they are sent; a paper prints what is kept.
    """
    if database != "sqlite":
        return []
    ran = subprocess.run(
        [sys.executable, "-m", "tests.bench._record"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    taken_in, printed, peak = map(float, ran.stdout.split())
    scale = f"{PHOTOS} photos of 12 million dots"
    return [
        figure("taking in one photo", taken_in / PHOTOS * 1000, "ms", None, scale),
        figure("printing the record", printed, "s", RECORD_S, scale),
        figure("most memory over both", peak, "MB", PEAK_MB, scale),
    ]


def figure(name: str, value: float, unit: str, limit: float | None, scale: str) -> Figure:
    return {"name": name, "value": value, "unit": unit, "limit": limit, "scale": scale}


def _resident_mb() -> float:
    """What this process holds now; its peak where the system does not tell."""
    statm = Path("/proc/self/statm")
    if statm.exists():
        return int(statm.read_text().split()[1]) * resource.getpagesize() / 1048576
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
