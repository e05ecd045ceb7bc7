"""The vehicles that a generated fleet repeats: each went through the services once."""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Self

from installs.models import Fitting, Standing, Verification
from installs.reads import sheets_of
from installs.services.judging import judged
from installs.services.proof import judged_columns
from shop.demo.documents import document_of
from shop.demo.fleet import Towed
from shop.demo.history import prove_sound
from shop.demo.vins import invented_vin
from shop.sheets import load_sheet
from vehicles.models import Vehicle
from vehicles.records import PULLPIN

PATTERNS = ("halm", "fenland", "dunlin", "sorrel", "merle", "skerry")
NAME_OF_PART = re.compile(r"\bc(\d+)(?=[.\"])")


@dataclass(frozen=True)
class Pattern:
    """A loaded and proven vehicle with its rows; `basis` and `measured` as JSON text.

    `unproven` is what a standing keeps of the same vehicle before its proof.
    """

    vehicle: Vehicle
    fittings: list[Fitting]
    proof: Verification
    basis: str
    measured: str
    standing: Standing
    unproven: Mapping[str, Any]

    @classmethod
    def of_sheet(cls, sheet: str, *, today: date) -> Self:
        """Load and prove the pattern of this sheet, or find it from an earlier call."""
        number = PATTERNS.index(sheet)
        document = document_of(Towed(f"pattern_{sheet}", "", sheet, 30), today=today)
        vin = invented_vin("0PATTERN", year=2015, serial=number)
        document["vehicle"] |= {"vin": vin, "plate": f"PATTERN {number}"}
        for item in document["fittings"]:
            if "serial" in item:
                item["serial"] = f"PATTERN-{number}-{item['serial']}"
        vehicle = Vehicle.objects.filter(vin=vin).first()
        if vehicle is None:
            vehicle = load_sheet(document, actor=PULLPIN, today=today)
            prove_sound(vehicle, day=today, actor=PULLPIN)
        fittings = Fitting.objects.current().filter(vehicle=vehicle).order_by("id")
        proof = Verification.objects.filter(vehicle=vehicle)[0]
        return cls(
            vehicle=vehicle,
            fittings=list(fittings.select_related("component__kind")),
            proof=proof,
            basis=json.dumps(proof.basis),
            measured=json.dumps(proof.measured),
            standing=Standing.objects.get(vehicle=vehicle),
            # Without the readings of a proof its volts are reckoned alone.
            unproven=judged_columns(judged(sheets_of([vehicle])[vehicle.pk])),
        )

    def basis_for(self, fittings: Sequence[Fitting]) -> dict[str, Any]:
        """Return the basis of a proof of a vehicle that carries these parts instead."""
        basis: dict[str, Any] = self._renamed(self.basis, fittings)
        # A proof binds the fittings themselves as well, by the numbers of their rows.
        rows = {old.pk: new.pk for old, new in zip(self.fittings, fittings, strict=True)}
        for port in basis["ports"].values():
            if "fitting" in port:
                port["fitting"] = rows[port["fitting"]]
        return basis

    def measured_for(self, fittings: Sequence[Fitting]) -> list[dict[str, Any]]:
        """Return the values measured, as read at these parts instead."""
        measured: list[dict[str, Any]] = self._renamed(self.measured, fittings)
        return measured

    def _renamed(self, text: str, fittings: Sequence[Fitting]) -> Any:
        names = {
            str(old.component_id): f"c{new.component_id}"
            for old, new in zip(self.fittings, fittings, strict=True)
        }
        return json.loads(NAME_OF_PART.sub(lambda found: names.get(found[1], found[0]), text))
