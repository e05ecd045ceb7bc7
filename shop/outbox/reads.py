"""What the screens read of the outbox; they have no other way to its rows."""

from django.db.models import QuerySet

from .models import OutgoingMail, Suppression


def mails_visible_to(user: object) -> "QuerySet[OutgoingMail]":
    """Every message that `user` may see, newest first, with its customer."""
    return OutgoingMail.objects.visible_to(user).select_related("customer")


def mails_for_a_person(user: object) -> "QuerySet[OutgoingMail]":
    """Messages that failed or may have gone out, and that nobody has settled yet."""
    return OutgoingMail.objects.visible_to(user).needing_a_person().select_related("customer")


def silenced_addresses(addresses: list[str]) -> set[tuple[str, str]]:
    """Return those of `addresses` that asked for silence, as (lower-case address, category)."""
    lower = [address.lower() for address in addresses]
    return set(Suppression.objects.filter(address__in=lower).values_list("address", "category"))


def keys_taken(keys: list[str]) -> set[str]:
    """Return those of `keys` under which a message stands already."""
    return set(OutgoingMail.objects.filter(key__in=keys).values_list("key", flat=True))
