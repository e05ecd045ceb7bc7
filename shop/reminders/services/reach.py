"""By which address a customer can be reached about what, and if by none, why."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from installs.domain.intervals import in_words
from shop.clock import shop_date
from shop.outbox.reads import silenced_addresses
from shop.people.models import Category, Consent, Customer, EmailAddress

NO_OWNER = "No mail: nobody owns the vehicle in our records."


@dataclass(frozen=True)
class Route:
    """Where a message of one category goes. `address` is empty where there is no way; see `why`."""

    address: str = ""
    why: str = ""


@dataclass
class Reach:
    """A customer as the reminders see them."""

    id: int
    name: str
    called: str
    language: str
    time_zone: str
    addresses: list[tuple[str, date | None]] = field(default_factory=list)
    declined: dict[str, date] = field(default_factory=dict)
    silenced: set[tuple[str, str]] = field(default_factory=set)

    def route(self, category: str) -> Route:
        """Return the first address that works and takes this category.

        Safety notices pass every opt-out; an address that does not work stops them as well.
        """
        told = Category(category).label
        if category != Category.SAFETY and category in self.declined:
            return Route(why=f"No mail: {told} declined on {in_words(self.declined[category])}.")
        if not self.addresses:
            return Route(why="No mail: no e-mail address on file.")
        working = [address for address, broken in self.addresses if broken is None]
        if not working:
            address, broken = self.addresses[0]
            since = in_words(broken) if broken else ""
            return Route(why=f"No mail: {address} has not worked since {since}."[:200])
        for address in working:
            if category == Category.SAFETY or (address.lower(), category) not in self.silenced:
                return Route(address)
        return Route(why=f"No mail: {working[0]} asked for no more {told}."[:200])


def reach_of(customer_ids: Iterable[int]) -> dict[int, Reach]:
    """Return the reach of these customers by their id, in four queries however many they are."""
    ids = set(customer_ids)
    columns = ("pk", "name", "called", "language", "time_zone")
    found = {
        row[0]: Reach(*row) for row in Customer.objects.filter(pk__in=ids).values_list(*columns)
    }
    emails = EmailAddress.objects.filter(customer__in=ids).order_by("id")
    owners = defaultdict(list)
    for customer, address, broken in emails.values_list("customer", "address", "broken_since"):
        found[customer].addresses.append((address, broken))
        owners[address.lower()].append(customer)
    refusals = Consent.objects.filter(customer__in=ids, allowed=False)
    for customer, category, at in refusals.values_list("customer", "category", "said_at"):
        found[customer].declined[category] = shop_date(at)
    for address, category in silenced_addresses(list(owners)):
        for customer in owners[address]:
            found[customer].silenced.add((address, category))
    return found
