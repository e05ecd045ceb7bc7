"""Whether a printed card still says what the records say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from shop.clock import shop_date
from vehicles.domain.procedure import Procedure
from vehicles.models import FeedMapRevision, ProcedureRevision, Vehicle

from .tokens import CardToken
from .tow_card import no_card_because


@dataclass(frozen=True, slots=True)
class CardState:
    """What the page behind the code says. Nothing of it names a person or a vehicle.

    `why` is empty where the card is current, else a sentence that says what replaced it.
    """

    revision: int
    written: date
    why: str

    @property
    def current(self) -> bool:
        return not self.why


def card_state(token: CardToken) -> CardState | None:
    """Return how the card of a token stands now, None where its records are gone."""
    vehicle = Vehicle.objects.filter(pk=token.vehicle_id).first()
    printed = ProcedureRevision.objects.filter(pk=token.procedure_id).first()
    if vehicle is None or printed is None:
        return None
    return CardState(
        revision=printed.number,
        written=shop_date(printed.written_at),
        why=_replaced(vehicle, printed, token.feed_map_id),
    )


def _replaced(vehicle: Vehicle, printed: ProcedureRevision, feed_map_id: int) -> str:
    now = ProcedureRevision.objects.in_force_for(vehicle)
    if now is None:
        return "The shop has no procedure in force for this vehicle any more."
    if now.pk != printed.pk:
        newer = f"It is superseded by a newer one of {_day(shop_date(now.written_at))}."
        if no_card_because(Procedure.from_dict(now.content)):
            return f"{newer} No card is printed from that one."
        return newer
    mapped = FeedMapRevision.objects.in_force_for(vehicle)
    if (mapped.pk if mapped else 0) != feed_map_id:
        if mapped is None:
            return "The layout of the fuses on it is no longer on record."
        day = _day(shop_date(mapped.written_at))
        return f"The layout of the fuses on it is superseded by a newer one of {day}."
    return ""


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
