"""Is a document that was recorded for a range of vehicles about this very vehicle?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

TRAITS = ("make", "model", "engine", "gearbox", "drive")


def range_fit(span: Mapping[str, Any], vehicle: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """Compare a range with a vehicle: (sentences why it is outside, traits that are not recorded).

    Both years of a range belong to it. A trait that the range leaves blank fits every vehicle; a
    trait that the vehicle leaves blank has to be asked, because towing may hang on just that.
    """
    outside: list[str] = []
    missing: list[str] = []
    year, first, last = vehicle.get("year"), span.get("year_from"), span.get("year_to")
    if first or last:
        if not year:
            missing.append("year")
        elif (first and year < first) or (last and year > last):
            outside.append(f"Years {first or '…'} to {last or '…'}, but this one is of {year}.")
    for trait in TRAITS:
        wanted, found = str(span.get(trait) or ""), str(vehicle.get(trait) or "")
        if wanted and not found:
            missing.append(trait)
        elif wanted and wanted.casefold() != found.casefold():
            outside.append(f"{trait.capitalize()} {wanted}, but this one has {found}.")
    return outside, missing
