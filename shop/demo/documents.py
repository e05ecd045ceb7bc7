"""The vehicle sheet of each car of the demo, made from the sheets that lie in this folder.

A sheet is taken as it is for its own car; for another car of the same range the identity and the
numbers of the parts are replaced. What depends on today's date is put in here.
"""

import copy
import json
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from installs.domain.intervals import add_months

from .fleet import TOWED, Towed
from .vins import invented_vin

FOLDER = Path(__file__).parent
SHEETS = FOLDER / "sheets"
EVERYTHING = "*"
Document = dict[str, Any]


@cache
def _kinds() -> dict[str, Document]:
    kinds: dict[str, Document] = json.loads((FOLDER / "kinds.json").read_text(encoding="utf-8"))
    return kinds


@cache
def catalogue() -> dict[str, Document]:
    """Return the kinds of part by their code, as they stand on a sheet."""
    return {
        code: {name: told for name, told in kind.items() if name != "role"}
        for code, kind in _kinds().items()
    }


def role_of(code: str) -> str:
    """Return a kind's place in the tow chain: the shop's own knowledge, and no part of a sheet."""
    role: str = _kinds()[code].get("role", "")
    return role


@cache
def _sheet(name: str) -> Document:
    sheet: Document = json.loads((SHEETS / f"{name}.json").read_text(encoding="utf-8"))
    return sheet


def sheet_names() -> list[str]:
    """Return the names of the sheets, in the order of the alphabet."""
    return sorted(file.stem for file in SHEETS.glob("*.json"))


def document_of(car: Towed, *, today: date) -> Document:
    """Return the car's sheet as it was when the car came to the shop."""
    document = copy.deepcopy(_sheet(car.sheet))
    document["vehicle"] = _identity(car, document["vehicle"])
    fittings = [item for item in document["fittings"] if not _is_left_out(car, item["id"])]
    document["fittings"] = [_fitting(car, item, at, today) for at, item in enumerate(fittings)]
    used = {item["kind"] for item in document["fittings"]}
    document["kinds"] |= {code: catalogue()[code] for code in used}
    if document["procedure"]["source"]["kind"] == "bulletin":
        # The bulletin reaches the shop later than this car: see shop/demo/history.py.
        *earlier, before = document.pop("earlier_procedures")
        document["procedure"] = before
        if earlier:
            document["earlier_procedures"] = earlier
    return document


def bulletin_procedure(car: Towed) -> Document:
    """Return the procedure that a bulletin brought for the range of this car."""
    procedure: Document = copy.deepcopy(_sheet(car.sheet)["procedure"])
    return procedure


def _is_left_out(car: Towed, fitting: str) -> bool:
    return EVERYTHING in car.bare or fitting in car.bare


def _identity(car: Towed, told: Document) -> Document:
    about = {**told.get("about", {}), "colour": car.colour or "white"}
    if car.year is None:
        return {**told, "about": about}
    number = 700_001 + 137 * TOWED.index(car)
    return {
        **told,
        "name": f"{car.year} {told['make']} {told['model']}",
        "year": car.year,
        "plate": car.plate,
        "vin": invented_vin(told["vin"][:8], year=car.year, serial=number),
        "about": about,
    }


def _fitting(car: Towed, item: Document, at: int, today: date) -> Document:
    fitting = dict(item)
    if fitting["id"] == "brake" and car.outlet:
        fitting |= {
            "kind": "portable_brake",
            "serial": "PB-",
            "mounted": "on the driver's floor",
            "ports": {"supply": {"feed": car.outlet, "ground": "body", "known": "measured"}},
        }
    if car.year is not None:
        number = 2_000 + 10 * TOWED.index(car) + at
        for name in ("serial", "lot"):
            if name in fitting:
                fitting[name] = f"{fitting[name].partition('-')[0].rstrip('0123456789')}-{number}"
    if fitting["kind"] == "breakaway_battery":
        made = add_months(today.replace(day=1), -car.battery_age)
        fitting["date_code"] = f"{made:%Y-%m}"
    return fitting
