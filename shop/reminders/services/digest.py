"""Writing the one message a day that tells a customer what is due."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from django.conf import settings
from django.template.loader import get_template
from django.utils.translation import get_supported_language_variant, gettext, override

from shop.outbox.message import one_line
from shop.people.models import Category

SUBJECT_BELOW = 60


@dataclass(frozen=True, slots=True)
class ItemWords:
    """One due thing as the customer reads it.

    `differences` tells what changed, line by line; `blocks` what keeps its vehicle from being towed
    at all. `when` says how its day is told: "on" its day, "now" because a look turned out bad, or
    as "news" of which the day does not matter.
    """

    vehicle_id: int
    vehicle: str
    plate: str
    what: str
    why: str
    todo: str
    reason: str
    due_on: date
    risk: int
    differences: Sequence[str] = ()
    blocks: Sequence[str] = ()
    forbidden: bool = False
    when: str = "on"


@dataclass(frozen=True, slots=True)
class Digest:
    """All that one customer is told on one day in one category."""

    customer_id: int
    name: str
    called: str
    language: str
    address: str
    stop_url: str
    category: str
    day: date
    items: Sequence[ItemWords]


@dataclass(frozen=True, slots=True)
class Written:
    """The finished words of a message."""

    subject: str
    text: str
    html: str


@dataclass(frozen=True, slots=True)
class VehicleWords:
    """A vehicle with what keeps it from being towed, and what is due on it."""

    name: str
    plate: str
    items: Sequence[ItemWords]

    @property
    def blocks(self) -> Sequence[str]:
        """What the letter leads with."""
        return self.items[0].blocks

    @property
    def forbidden(self) -> bool:
        """Must it not be towed on its own wheels at all?"""
        return self.items[0].forbidden


def write_digest(digest: Digest) -> Written:
    """Return subject, plain text and HTML in the customer's language. Links are absolute."""
    vehicles = _by_vehicle(digest.items)
    with override(language_of(digest.language)):
        context = {
            "digest": digest,
            "greeting": digest.called or digest.name,
            "vehicles": vehicles,
            "safety": digest.category == Category.SAFETY,
            "shop": settings.SHOP_NAME,
            "postal_address": settings.SHOP_POSTAL_ADDRESS,
            "phone": settings.SHOP_PHONE,
            "email": settings.SHOP_EMAIL,
            "stop_url": digest.stop_url,
        }
        return Written(
            subject=subject_of(vehicles, safety=digest.category == Category.SAFETY),
            text=get_template("mail/digest.txt").render(context),
            html=get_template("mail/digest.html").render(context),
        )


def language_of(wanted: str) -> str:
    """Return the customer's language as far as we speak it, else the shop's own."""
    try:
        return get_supported_language_variant(wanted)
    except LookupError:
        return settings.LANGUAGE_CODE


def subject_of(vehicles: Sequence[VehicleWords], *, safety: bool) -> str:
    """Return a subject of fewer than 60 characters with the vehicle and the shop's name.

    Long names are shortened where it hurts least: the shop's after its first words.
    """
    if len(vehicles) == 1:
        about = one_line(vehicles[0].name)
    else:
        about = gettext("%(count)d vehicles") % {"count": len(vehicles)}
    what = gettext("safety notice") if safety else gettext("service reminder")
    shop = one_line(settings.SHOP_NAME)
    room = SUBJECT_BELOW - 1 - len(f": {what}, ")
    shop = _clip(shop, max(room - len(about), room // 2))
    return f"{_clip(about, room - len(shop))}: {what}, {shop}"


def _clip(text: str, room: int) -> str:
    """Cut `text` to `room` characters, at a space where there is one."""
    if len(text) <= room:
        return text
    head = text[: room - 1]
    if " " in head[1:]:
        head = head.rpartition(" ")[0]
    return head.rstrip(" &,-") + "…"


def _by_vehicle(items: Sequence[ItemWords]) -> list[VehicleWords]:
    """Group the items, the vehicle with the gravest and oldest one first."""
    ordered = sorted(items, key=lambda item: (-item.risk, item.due_on))
    groups: dict[int, list[ItemWords]] = {}
    for item in ordered:
        groups.setdefault(item.vehicle_id, []).append(item)
    return [VehicleWords(rows[0].vehicle, rows[0].plate, rows) for rows in groups.values()]


def digest_headers(digest: Digest) -> dict[str, str]:
    """Return the headers that tell programs what this message is and how to stop it.

    RFC 3834 (made by a machine), RFC 2919 (which list), RFC 2369 and RFC 8058 (the way out by one
    click, which must be https). Safety notices have no way out, so they name none.
    """
    headers = {
        "Auto-Submitted": "auto-generated",
        "List-Id": _list_id(digest.category),
        "Reply-To": settings.SHOP_EMAIL,
    }
    if digest.category == Category.SAFETY:
        return headers
    told = quote(f"Stop {Category(digest.category).label} for {digest.address}")
    mailto = f"mailto:{settings.SHOP_EMAIL}?subject={told}"
    headers["List-Unsubscribe"] = f"<{digest.stop_url}>, <{mailto}>"
    if digest.stop_url.startswith("https://"):
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    return headers


def _list_id(category: str) -> str:
    """Return the name and number of the list; the name only where it needs no encoding."""
    number = f"<{category}.{settings.SHOP_EMAIL.rpartition('@')[2]}>"
    name = one_line(settings.SHOP_NAME)
    if not name.isascii() or any(mark in name for mark in '"\\<>'):
        return number
    return f'"{name}" {number}'
