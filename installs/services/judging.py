"""Judging a vehicle as it stands: answers, what a proof would bind, and the numbers beside it.

The numbers are no part of the basis (see `installs/domain/numeric_findings.py`). They cost several
times what the answers do, and a night judges every vehicle, so their findings are kept with the
standing under a key of all they hang on, and worked out again only where that key differs. A page
always works them out: it shows them.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from installs.domain.basis import basis_of, fingerprint
from installs.domain.findings import Code, Cure, Finding, Severity
from installs.domain.measured import Measured
from installs.domain.needs import Judgement, judge
from installs.domain.numeric_findings import Volts, numeric_findings
from installs.domain.reckoned import Numbers, reckon
from installs.domain.sheet import Sheet
from installs.models import Verification
from installs.reads import sheets_of
from vehicles.domain.limit_set import START, Limits
from vehicles.models import LimitVersion, Vehicle

# Raised by whoever changes how numbers or their findings are worked out: kept ones are then void.
EDITION = 1


@dataclass(frozen=True)
class Judged:
    """A vehicle's sheet with its judgement and the basis that a proof of it would bind.

    `judgement.findings` hold those of the numbers too; `numeric` are these alone. `numbers` is
    None where their findings were kept from an earlier judgement. `key` is what they hang on.
    """

    sheet: Sheet
    judgement: Judgement
    basis: dict[str, Any]
    fingerprint: str
    limits: Limits = START
    numbers: Numbers | None = None
    numeric: tuple[Finding, ...] = ()
    key: str = ""

    @property
    def failing(self) -> list[Finding]:
        """The findings of the numbers that block: a proof does not stand beside them."""
        return [finding for finding in self.numeric if finding.blocking]

    @property
    def alive_volts(self) -> float:
        """The least volts at a port that must be on, by the limits it was judged by."""
        return self.limits.value("port_volts")


class Keys:
    """Keys of what numbers hang on; what several vehicles share is written out once."""

    def __init__(self, limits: Limits) -> None:
        self._limits = _digest([limits.bands, limits["ampacity"].rows, limits["port_volts"].source])
        self._shared: dict[int, tuple[Any, str]] = {}

    def of(self, sheet: Sheet, measured: Volts) -> str:
        """Return the key of a sheet with its readings."""
        kinds = {fitting.kind for fitting in sheet.fittings}
        return _digest(
            [
                EDITION,
                self._limits,
                self._of_shared(sheet.feed_map),
                self._of_shared(sheet.procedure),
                [self._of_shared(sheet.kinds[kind]) for kind in sorted(kinds)],
                [[f.id, f.kind, f.serial, f.ports.to_dict()] for f in sheet.fittings],
                sorted(measured.items()),
            ]
        )

    def _of_shared(self, document: Any) -> str:
        # The document is kept as well, so that its number cannot come to mean another one.
        if id(document) not in self._shared:
            self._shared[id(document)] = (document, _digest(document.to_dict()))
        return self._shared[id(document)][1]


def _digest(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, default=asdict, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def judged(
    sheet: Sheet,
    *,
    limits: Limits = START,
    proof: Verification | None = None,
    measured: Sequence[Measured] | None = None,
) -> Judged:
    """Judge a sheet, work out its basis and its numbers.

    The readings of `proof` count where the vehicle is as it was when it was signed; `measured`
    are readings just taken, which count as they are.
    """
    bare = answered(sheet, limits=limits)
    volts = readings_of(proof, bare) if measured is None else _volts(measured)
    return _with_numbers(bare, limits, volts)


def rejudged(
    sheet: Sheet,
    *,
    limits: Limits,
    keys: Keys,
    proof: Verification | None,
    kept: Mapping[str, Any],
) -> Judged:
    """Judge as `judged` does, taking the findings of the numbers from `kept` where they hold."""
    bare = answered(sheet, limits=limits)
    if not sheet.fittings:
        return bare
    volts = readings_of(proof, bare)
    key = keys.of(sheet, volts)
    if kept.get("key") != key:
        return replace(_with_numbers(bare, limits, volts), key=key)
    return replace(_joined(bare, tuple(map(_read, kept["found"]))), key=key)


def answered(sheet: Sheet, *, limits: Limits = START) -> Judged:
    """Judge a sheet in answers alone, without its numbers."""
    judgement = judge(sheet, share=limits.share)
    basis = basis_of(sheet, judgement)
    return Judged(sheet, judgement, basis, fingerprint(basis), limits)


def judge_vehicle(vehicle: Vehicle, *, measured: Sequence[Measured] | None = None) -> Judged:
    """Judge one vehicle as it stands in the records, with its latest proof or `measured`."""
    sheet = sheets_of([vehicle])[vehicle.pk]
    proof = Verification.objects.filter(vehicle=vehicle).first() if measured is None else None
    limits = LimitVersion.objects.in_force()
    return judged(sheet, limits=limits, proof=proof, measured=measured)


def readings_of(proof: Verification | None, now: Judged) -> dict[tuple[str, str, str], float]:
    """Return the volts of a proof by (component, port, state), if it speaks of what is there now.

    After any change that a proof hangs on, nothing that it measured counts any longer.
    """
    if proof is None or proof.fingerprint != now.fingerprint:
        return {}
    return {
        (row["component"], row["port"], row["state"]): float(row["volts"])
        for row in proof.measured
        if row.get("volts") is not None
    }


def kept(now: Judged) -> dict[str, Any]:
    """Return the findings of the numbers in the form in which a standing keeps them."""
    return {"key": now.key, "found": [asdict(finding) for finding in now.numeric]}


def _volts(measured: Iterable[Measured]) -> dict[tuple[str, str, str], float]:
    return {reading.key: reading.volts for reading in measured if reading.volts is not None}


def _with_numbers(bare: Judged, limits: Limits, volts: Volts) -> Judged:
    numbers = reckon(bare.sheet, views=bare.judgement.views, limits=limits)
    found = numeric_findings(bare.sheet, bare.judgement, numbers, volts)
    return replace(_joined(bare, found), numbers=numbers)


def _joined(bare: Judged, numeric: tuple[Finding, ...]) -> Judged:
    return replace(bare, judgement=bare.judgement.with_findings(numeric), numeric=numeric)


def _read(row: Mapping[str, Any]) -> Finding:
    return Finding(
        **{
            **row,
            "code": Code(row["code"]),
            "severity": Severity(row["severity"]),
            "states": tuple(row["states"]),
            "cures": tuple(
                Cure(**{**cure, "notes": tuple(cure["notes"])}) for cure in row["cures"]
            ),
        }
    )
