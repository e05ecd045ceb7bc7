"""Findings with their cures, as parts/finding.html shows them."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.urls import reverse

from installs.domain.findings import Code, Cure, Finding
from installs.models import Fitting

# These say what to find out; the others say what to change.
TO_FIND_OUT = ("measure", "record")
CURES_SHOWN = 2


def rows(findings: Sequence[Finding], fittings: Mapping[str, Fitting]) -> list[dict[str, Any]]:
    """Return the findings in the order of the judgement; cures of a part lead to its wiring."""
    return [_row(finding, fittings.get(finding.component)) for finding in findings]


def _row(finding: Finding, fitting: Fitting | None) -> dict[str, Any]:
    asked = [cure for cure in finding.cures if cure.code in TO_FIND_OUT]
    asks = "Record" if asked and asked[0].code == "record" else "Measure"
    cures = [_cure(cure) for cure in finding.cures if cure not in asked]
    rewires = any(cure.feed for cure in finding.cures)
    return {
        "word": "UNKNOWN" if finding.is_unknown else finding.severity.value,
        "blocks": finding.blocking,
        "title": finding.title,
        "why": finding.why,
        "asks": asks,
        "measure": " ".join(_told(cure) for cure in asked).removeprefix(f"{asks} "),
        "cures": cures[:CURES_SHOWN],
        "more_cures": cures[CURES_SHOWN:],
        **_next(finding, fitting, rewires=bool(rewires or asked)),
    }


def _next(finding: Finding, fitting: Fitting | None, *, rewires: bool) -> dict[str, str]:
    """Where the finding is dealt with: what the button says and leads to."""
    if fitting and finding.code in (Code.FAILED_LOOK, Code.WEAK_LOOK):
        look = reverse("desk:inspect", args=[fitting.vehicle_id])
        return {"url": f"{look}?fitting={fitting.pk}", "label": "Record the next look"}
    url = reverse("desk:fitting_change", args=[fitting.pk]) if fitting and rewires else ""
    return {"url": url, "label": "Change the wiring"}


def _told(cure: Cure) -> str:
    return " ".join((cure.title, *cure.notes))


def _cure(cure: Cure) -> dict[str, str]:
    title = cure.title if cure.title.endswith((".", "!", "?")) else f"{cure.title}."
    return {"words": title, "also": " ".join(cure.notes)}
