"""The token in the code on a tow card: what it was printed from, signed, without a name."""

from dataclasses import dataclass

from django.conf import settings
from django.core import signing
from django.urls import reverse

_SALT = "pullpin.card"
_PARTS = 3


@dataclass(frozen=True, slots=True)
class CardToken:
    """Numbers of the vehicle, the procedure revision and the feed map revision (0: none)."""

    vehicle_id: int
    procedure_id: int
    feed_map_id: int


def card_url(token: CardToken) -> str:
    """Return the absolute address of the page that says whether a card still holds."""
    text = f"{token.vehicle_id}-{token.procedure_id}-{token.feed_map_id}"
    signed = signing.Signer(salt=_SALT).sign(text)
    return settings.SHOP_URL + reverse("papers:card", args=[signed])


def read_card_token(signed: str) -> CardToken | None:
    """Return what a token stands for, None for one that we did not sign."""
    try:
        parts = [int(part) for part in signing.Signer(salt=_SALT).unsign(signed).split("-")]
    except (signing.BadSignature, ValueError):
        return None
    return CardToken(*parts) if len(parts) == _PARTS else None
