"""One box: customers, vehicles and parts by any scrap of them that a person has at hand.

A question is cut into pieces (see vehicles/domain/normal.py), and every piece has to occur in the
stored look-up text. What is found only by taking O for 0 or I for 1, or letters for the digits on
their keys, is kept apart and offered as look-alike.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q, QuerySet

from installs.models import Component, Fitting
from shop.people.models import Customer
from shop.people.reads import owners_of
from vehicles.domain.normal import Token, squeeze, tokens
from vehicles.domain.normal import look_alike as look_alike_of
from vehicles.models import Vehicle

SHOWN = 20
# Ordering a long list of hits walks the whole table on one database; ordering a part does not.
LOOKED_AT = 500
SHORTEST_EXACT = 4
PHONE_DIGITS = 10


@dataclass(frozen=True)
class Hit:
    """One row found: the record, what it is called, what stands beside it, why it was found."""

    sort: str
    pk: int
    title: str
    beside: tuple[str, ...] = ()
    why: tuple[str, ...] = ()
    plate: str = ""
    exact: bool = False
    look_alike: bool = False


@dataclass(frozen=True)
class Group:
    """The hits of one sort. `more` is true where only the first ones are shown."""

    sort: str
    hits: tuple[Hit, ...]
    more: bool = False


@dataclass(frozen=True)
class Found:
    """What a question found, look-alikes last."""

    groups: tuple[Group, ...] = ()
    look_alikes: tuple[Group, ...] = field(default=())

    @property
    def only_exact(self) -> Hit | None:
        """The one hit that the whole question names, None where none or several do."""
        exact = [hit for group in self.groups for hit in group.hits if hit.exact]
        return exact[0] if len(exact) == 1 else None

    @property
    def count(self) -> int:
        return sum(len(group.hits) for group in (*self.groups, *self.look_alikes))


def find(query: str, user: object) -> Found:
    """Return what `user` may see of what the question names; nothing for an empty question."""
    asked = tokens(query)
    if not asked:
        return Found()
    plain, alike = [], []
    for sort in (_Customers(), _Vehicles(), _Parts()):
        named, resembling = _matches(sort.rows(user), asked)
        rows = _first(sort.rows(user), named)
        hits = tuple(sort.hits(rows, asked, query))
        plain.append(Group(sort.name, hits, len(named) > SHOWN))
        rows = _first(sort.rows(user), resembling)
        hits = tuple(sort.hits(rows, asked, query, look_alike=True))
        alike.append(Group(sort.name, hits, len(resembling) > SHOWN))
    return Found(
        tuple(group for group in plain if group.hits), tuple(group for group in alike if group.hits)
    )


def _matches(rows: "QuerySet[Any]", asked: Sequence[Token]) -> tuple[list[int], list[int]]:
    """Return the ids of rows that hold every piece, and of those that only resemble it.

    The look-up texts are walked once for both. Only where so many rows resemble it that they
    could hide the others, those are asked for by themselves: then the walk is short.
    """
    found = _looked_up(rows, asked, lambda token: token.forms)
    named = [pk for pk, text in found if _is_named(text, asked)]
    if len(found) == LOOKED_AT and len(named) <= SHOWN:
        found_plain = _looked_up(rows, asked, lambda token: (token.plain,))
        named = [pk for pk, text in found_plain if _is_named(text, asked)]
    known = set(named)
    return named, [pk for pk, _ in found if pk not in known]


def _is_named(text: str, asked: Sequence[Token]) -> bool:
    """Tell whether every piece occurs as it is written, not only in a look-alike stored beside."""
    pieces = text.split()
    stand_ins = {look_alike_of(piece) for piece in pieces if look_alike_of(piece) != piece}
    own = " ".join(piece for piece in pieces if piece not in stand_ins)
    return all(token.plain in own for token in asked)


def _looked_up(
    rows: "QuerySet[Any]", asked: Sequence[Token], forms: Callable[[Token], Sequence[str]]
) -> list[tuple[int, str]]:
    wanted = Q()
    for token in asked:
        either = Q()
        for form in forms(token):
            either |= Q(lookup__contains=form)
        wanted &= either
    # Without an order: it would walk another index, row by row.
    plain = rows.order_by().select_related(None).prefetch_related(None)
    return list(plain.filter(wanted).values_list("pk", "lookup")[:LOOKED_AT])


def _first(rows: "QuerySet[Any]", ids: Sequence[int]) -> list[Any]:
    """Return the first of these rows in the order of their list."""
    return list(rows.filter(pk__in=ids)[:SHOWN]) if ids else []


# What a value is called, how it is shown, and another spelling in which it may be asked for.
Values = Sequence[tuple[str, str, str]]


def _why(asked: Sequence[Token], values: Values) -> tuple[str, ...]:
    """Return which of a record's values hold a piece of the question, as they are written."""
    told = []
    for label, shown, other in values:
        plain = f"{squeeze(shown)} {squeeze(other)}"
        if any(form in plain for token in asked for form in token.forms):
            told.append(f"{label} {shown}".strip())
    return tuple(dict.fromkeys(told))


def _is_exact(query: str, values: Iterable[str]) -> bool:
    """Tell whether the whole question is one of these values."""
    whole = squeeze(query)
    if len(whole) < SHORTEST_EXACT:
        return False
    return any(whole == squeeze(value) for value in values if value)


class _Customers:
    name = "Customers"

    def rows(self, user: object) -> "QuerySet[Customer]":
        return Customer.objects.visible_to(user).prefetch_related("phones", "emails", "persons")

    def hits(
        self, rows: Iterable[Any], asked: Sequence[Token], query: str, *, look_alike: bool = False
    ) -> Iterator[Hit]:
        for row in rows:
            phones = list(row.phones.all())
            values = [("", person.name, "") for person in row.persons.all()]
            values += [("called", row.called, "")] if row.called else []
            values += [("phone", phone.typed, phone.e164) for phone in phones]
            values += [("e-mail", email.address, "") for email in row.emails.all()]
            values += [("address", line, "") for line in row.address.splitlines()]
            told = [row.name, *(text for value in values for text in value[1:])]
            told += [phone.e164[-PHONE_DIGITS:] for phone in phones]
            yield Hit(
                sort="customer",
                pk=row.pk,
                title=row.name,
                beside=tuple(phone.typed for phone in phones[:1]),
                why=_why(asked, values),
                exact=not look_alike and _is_exact(query, told),
                look_alike=look_alike,
            )


class _Vehicles:
    name = "Vehicles"

    def rows(self, user: object) -> "QuerySet[Vehicle]":
        return Vehicle.objects.visible_to(user)

    def hits(
        self, rows: Iterable[Any], asked: Sequence[Token], query: str, *, look_alike: bool = False
    ) -> Iterator[Hit]:
        rows = list(rows)
        owners = owners_of(row.pk for row in rows) if rows else {}
        for row in rows:
            owned = owners.get(row.pk)
            values = [
                ("VIN", row.vin, look_alike_of(row.vin)),
                ("coach serial", row.coach_serial, look_alike_of(row.coach_serial)),
                ("plate", row.plate, look_alike_of(row.plate)),
                ("colour", row.colour, ""),
            ]
            yield Hit(
                sort="vehicle",
                pk=row.pk,
                title=str(row),
                plate=row.plate,
                beside=(
                    row.get_kind_display(),
                    f"of {owned.customer}" if owned else "no owner recorded",
                ),
                why=_why(asked, values),
                exact=not look_alike
                and _is_exact(query, (row.vin, row.vin[-8:], row.plate, row.coach_serial)),
                look_alike=look_alike,
            )


class _Parts:
    name = "Parts"

    def rows(self, user: object) -> "QuerySet[Component]":
        return Component.objects.visible_to(user).select_related("kind")

    def hits(
        self, rows: Iterable[Any], asked: Sequence[Token], query: str, *, look_alike: bool = False
    ) -> Iterator[Hit]:
        rows = list(rows)
        current = Fitting.objects.current().filter(component__in=[row.pk for row in rows])
        places = {f.component_id: f.vehicle for f in current.select_related("vehicle")}
        for row in rows:
            vehicle = places.get(row.pk)
            where = f"on {vehicle}" if vehicle else row.get_state_display()
            values = [
                ("serial", row.serial, look_alike_of(row.serial)),
                ("lot", row.lot, look_alike_of(row.lot)),
                ("", row.maker_model, ""),
            ]
            yield Hit(
                sort="component",
                pk=row.pk,
                title=str(row),
                beside=(where,),
                why=_why(asked, values),
                exact=not look_alike and _is_exact(query, (row.serial,)),
                look_alike=look_alike,
            )
