"""The tow card: one sheet that stays in the vehicle. What stands on it, and when there is none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.conf import settings

from installs.domain.digest import digest
from installs.models import ComponentKind
from shop.clock import shop_date
from shop.desk.present import fuses
from shop.desk.present.procedure import read_day, shown, source_words
from shop.desk.vehicle_reads import TowedVehicle, proofs_of
from vehicles.domain import towlimits
from vehicles.domain.procedure import ALLOWED, NOT_ALLOWED, Procedure

from . import points
from .names import file_name
from .qr import qr_svg
from .render import PaperSize, render
from .tokens import CardToken, card_url

TEMPLATE = "paper/tow_card.html"
_Duty = ComponentKind.Duty


@dataclass(frozen=True)
class TowCard:
    """What stands on a card, and the name of its file."""

    context: Mapping[str, Any]
    name: str

    def pdf(self, size: PaperSize) -> bytes:
        """Return the card as PDF."""
        return render(TEMPLATE, self.context, size=size)


def no_card_because(procedure: Procedure) -> str:
    """Return why no card is printed from this procedure, "" where one is."""
    source = source_words(procedure.source)
    if procedure.verdict == NOT_ALLOWED:
        return f"This vehicle is not to be towed on its own wheels ({source})."
    if procedure.verdict != ALLOWED:
        return (
            "Whether and how this vehicle may be towed on its own wheels is not established. Enter "
            "the procedure from the maker's document first."
        )
    if not procedure.source.verified:
        return (
            f"The procedure is hearsay ({source}). A card is printed only from a document, a "
            "bulletin or what was measured here: enter where it stands written first."
        )
    if not procedure.steps:
        return "The procedure has no steps that could be printed. Enter them first."
    return ""


def tow_card(page: TowedVehicle, *, today: date) -> TowCard:
    """Return the card of a vehicle as it stands in the records.

    Raises ValueError where `no_card_because` has a reason; ask it first.
    """
    procedure = page.now.sheet.procedure
    reason = no_card_because(procedure)
    if reason or page.procedure is None:
        raise ValueError(reason or "no procedure is recorded")
    boxes = fuses.boxes(page.now.sheet, page.now.judgement.views.states["tow"])
    told = shown(procedure)
    content = {
        "vehicle": str(page.vehicle),
        "plate": page.vehicle.plate,
        "owner": str(page.owned.customer) if page.owned else "",
        "steps": told["steps"],
        "reverse": told["reverse"],
        "limits": list(towlimits.texts(procedure.limits, both_units=True)),
        "source": told["source"],
        "note": procedure.note,
        "boxes": [{**box, "pulls": any(f["pulled"] for f in box["positions"])} for box in boxes],
        "spares": list(_spares(boxes)),
        "proof": _proof(page),
        "revision": page.procedure.number,
        "whose": "this vehicle's own" if page.procedure.vehicle_id else "of its range",
        "written": shop_date(page.procedure.written_at).isoformat(),
        **_said(page),
    }
    token = CardToken(page.vehicle.pk, page.procedure.pk, page.feed_map.pk if page.feed_map else 0)
    url = card_url(token)
    context = {
        **content,
        "hash": digest(content),
        "record": f"procedure revision {page.procedure.number} of {read_day(content['written'])}",
        "printed": today,
        "phone": settings.SHOP_PHONE,
        "url": url,
        "qr": qr_svg(url),
    }
    whose = content["owner"] or content["vehicle"]
    return TowCard(context, file_name(whose, "tow card"))


def _spares(boxes: list[dict[str, Any]]) -> Iterator[str]:
    """Yield each fuse that is pulled or tapped, so that a spare of its kind lies in the car."""
    for box in boxes:
        for fuse in box["positions"]:
            if fuse["pulled"] or fuse["tapped"]:
                kind = " ".join(text for text in (fuse["rating"], fuse["blade"]) if text)
                yield f"{fuse['id']}: {kind or 'rating not recorded'}"


def _proof(page: TowedVehicle) -> dict[str, str]:
    """Say whether the gear was proven with just this procedure, or warn that it was not."""
    proof = next(iter(proofs_of(page.vehicle)), None)
    if not page.fittings:
        return {"word": "NOTICE", "text": "No gear of this vehicle is in the shop's records."}
    if proof and proof.fingerprint == page.now.fingerprint and page.asked is None:
        day = read_day(proof.proven_on.isoformat())
        return {"word": "", "text": f"The gear was proven with this procedure on {day}."}
    return {
        "word": "WARNING",
        "text": "When this was printed the gear of this vehicle was not proven with this "
        "procedure. Do not count on it before the shop has proven it.",
    }


def _said(page: TowedVehicle) -> dict[str, Any]:
    """Return the shop's points and the alarms for what is fitted here."""
    duties = {fitting.component.kind.duty for fitting in page.fittings}
    brake = _Duty.BRAKE in duties
    alarms = (
        *(points.BRAKE_ALARMS if brake else ()),
        *(points.BREAKAWAY_ALARMS if _Duty.BREAKAWAY in duties else ()),
        *points.ANY_ALARMS,
    )
    return {
        "points_before": list(points.BRAKE_BEFORE + points.BRAKE_RUN) if brake else [],
        "points_after": list(points.BRAKE_AFTER) if brake else [],
        "alarms": [{"noticed": alarm.noticed, "asks": alarm.asks} for alarm in alarms],
    }
