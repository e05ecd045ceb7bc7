"""The token in the link by which reminders are stopped: signed, and readable by nobody else.

It names the customer by number, the category, and of the address only a fingerprint, so that a
link in a log or in a forwarded mail gives no address away. It never expires: a way out has to
work as long as the message lies in somebody's inbox.
"""

from dataclasses import dataclass
from functools import cache
from hashlib import sha256

from django.conf import settings
from django.core import signing
from django.urls import reverse

from shop.people.models import Category

_SALT = "pullpin.stop"
_FINGERPRINT = 16


@dataclass(frozen=True, slots=True)
class StopToken:
    """Whose messages of which category, to the address with which fingerprint."""

    customer_id: int
    category: str
    fingerprint: str


def fingerprint_of(address: str) -> str:
    """Return the fingerprint of an address; capitals make no difference."""
    return sha256(address.lower().encode()).hexdigest()[:_FINGERPRINT]


def stop_token(*, customer_id: int, category: str, address: str) -> str:
    """Return the token for one customer, category and address; always the same one."""
    return signing.Signer(salt=_SALT).sign_object([customer_id, category, fingerprint_of(address)])


def read_stop_token(token: str) -> StopToken | None:
    """Return what a token stands for, None for one that we did not sign."""
    try:
        read = StopToken(*signing.Signer(salt=_SALT).unsign_object(token))
    except (signing.BadSignature, ValueError, TypeError):
        return None
    return read if read.category in Category.values else None


def stop_url(*, customer_id: int, category: str, address: str) -> str:
    """Return the absolute link of the page where this category can be stopped."""
    token = stop_token(customer_id=customer_id, category=category, address=address)
    return settings.SHOP_URL + _path().replace("TOKEN", token)


@cache
def _path() -> str:
    """Return the path of the page, worked out once: a tick writes thousands of links."""
    return reverse("stop", args=["TOKEN"])
