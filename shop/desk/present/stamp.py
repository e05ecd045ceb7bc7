"""How a vehicle's proof stands, as a rubber stamp."""

from datetime import date
from typing import Any

from installs.domain.findings import Code
from installs.models import Reverification, Verification
from installs.services.judging import Judged
from vehicles.domain.procedure import NOT_ALLOWED


def of_vehicle(
    now: Judged, proof: Verification | None, asked: Reverification | None
) -> dict[str, Any]:
    """Return the stamp of a vehicle judged now, for parts/proof_stamp.html.

    It is good only if the last proof was of just this: same fingerprint, and nobody doubts it.
    """
    if now.sheet.procedure.verdict == NOT_ALLOWED:
        return {"kind": "not_towed", "lines": ["on its own wheels"]}
    if not now.sheet.fittings:
        return {"kind": "nothing", "lines": ["nothing is fitted"]}
    failed = any(f.code is Code.FAILED_LOOK and f.blocking for f in now.judgement.findings)
    first = ["do not tow: a part failed"] if failed else []
    if proof is None:
        return {"kind": "never", "lines": [*first, "nothing was measured yet"]}
    of = f"proof of {_day(proof.proven_on)}"
    if proof.fingerprint == now.fingerprint and asked is None:
        return {"kind": "good", "lines": [of, f"signed by {proof.signed_by}"]}
    since = proof.stale_on or (asked.opened_on if asked else None)
    lines = [f"since {_day(since)}", of] if since else [of]
    return {"kind": "stale", "lines": [*first, *lines]}


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
