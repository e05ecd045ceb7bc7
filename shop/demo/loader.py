"""Loading the invented shop: once, all of it or nothing."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from email.message import EmailMessage
from types import TracebackType
from typing import Self
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from installs.models import Component, ComponentKind
from installs.services import parts
from shop.changes import settle
from shop.outbox.services import Letter, deliver_waiting, queue_mail
from shop.outbox.transport import RefusedError
from shop.people import services as people
from shop.people import staff
from shop.people.models import Category, Customer, User
from shop.reminders.models import DueItem
from shop.reminders.services import mark_booked, snooze
from vehicles.models import Vehicle
from vehicles.records import PULLPIN, Actor

from .basics import add_checks, add_kinds, add_rules
from .history import History
from .people import PEOPLE, Person

PASSWORD = "four-wheels-down"  # noqa: S105 -- of an invented shop, printed by the demo
STAFF = (
    ("mara", "Mara Ostrow", User.Role.DESK),
    ("teo", "Teo Lindgard", User.Role.TECHNICIAN),
    ("ines", "Ines Farrow", User.Role.OWNER),
)
SHELF: tuple[tuple[str, str, int | None, str], ...] = (
    ("built_in_brake", "HB-9001", None, "new, box unopened"),
    ("transmitter", "LT-9002", None, "new"),
    ("breakaway_battery", "BB-9003", 44, "came off a trade-in; too old to be fitted for long"),
    ("stop_lamp_relay", "SR-9004", None, "new"),
)


@dataclass(frozen=True)
class SignIn:
    """An account of the demo. `password` is empty where none was given out."""

    username: str
    name: str
    role: str
    password: str


@dataclass(frozen=True)
class DemoReport:
    """How many customers and vehicles stand in the records, and whether this call made them."""

    customers: int
    vehicles: int
    created: bool
    users: list[SignIn]


def load_demo(*, today: date) -> DemoReport:
    """Load the invented shop into an empty database; in any other one nothing is touched.

    Dates count back from `today`. On a production set-up the accounts get no password.
    """
    with transaction.atomic():
        created = not (Customer.objects.exists() or Vehicle.objects.exists())
        if created:
            _load(today)
    return DemoReport(
        customers=Customer.objects.count(),
        vehicles=Vehicle.objects.count(),
        created=created,
        users=_sign_ins(),
    )


def _load(today: date) -> None:
    accounts = {username: _account(username, name, role) for username, name, role in STAFF}
    desk, technician, owner = (Actor(str(user), user.pk) for user in accounts.values())
    kinds, checks = add_kinds(actor=owner), add_checks(actor=owner)
    history = History(
        today=today,
        desk=desk,
        technician=technician,
        customers={person.key: _customer(person, desk) for person in PEOPLE},
        checks=checks,
    )
    history.live()
    add_rules(kinds=kinds, checks=checks, today=today, actor=owner)
    _stock(kinds, today, desk)
    settle(
        vehicle_ids=[vehicle.pk for vehicle in history.vehicles.values()],
        cause="nightly",
        today=today,
        actor=PULLPIN,
    )
    _book_and_put_off(history, today, desk)
    _let_a_mail_fail(history.customers["ferrier"], today, history.vehicles["mail_failed"])


def _address(username: str) -> str:
    return f"{username}@quillcreek.example"


def _account(username: str, name: str, role: str) -> User:
    known = User.objects.filter(username=username).first()
    return known or staff.add_user(
        username=username,
        email=_address(username),
        name=name,
        role=role,
        password=None if settings.PRODUCTION else PASSWORD,
        actor=PULLPIN,
    )


def _sign_ins() -> list[SignIn]:
    password = "" if settings.PRODUCTION else PASSWORD
    there = User.objects.filter(email__in=[_address(username) for username, _, _ in STAFF])
    return [
        SignIn(
            user.username, str(user), user.role, password if user.check_password(password) else ""
        )
        for user in there.order_by("id")
    ]


def _customer(person: Person, desk: Actor) -> Customer:
    customer = people.add_customer(
        actor=desk,
        reach=people.Reach(person.persons, person.phones, person.emails),
        name=person.name,
        called=person.called,
        address=person.address,
        country=person.country,
        language=person.language,
        time_zone=person.time_zone,
        business_use=person.business_use,
        note=person.note,
    )
    if person.declines_service:
        people.set_consent(
            customer=customer,
            category=Category.SERVICE,
            allowed=False,
            how=person.declines_service,
            actor=desk,
        )
    return customer


def _stock(kinds: dict[str, ComponentKind], today: date, desk: Actor) -> None:
    """Lay some parts on the shelf."""
    for code, serial, months, note in SHELF:
        made = today - timedelta(days=months * 30) if months else None
        parts.add_component(
            actor=desk,
            kind=kinds[code],
            serial=serial,
            note=note,
            state=Component.State.IN_STOCK,
            date_code=made.replace(day=1) if made else None,
            date_code_typed=f"{made:%Y-%m}" if made else "",
        )


def _book_and_put_off(history: History, today: date, desk: Actor) -> None:
    """One customer has booked a visit, one asked to be reminded later."""
    said_today = DueItem.objects.to_be_said(today)
    for item in said_today.filter(vehicle=history.vehicles["booked"]):
        mark_booked(item=item, on=today + timedelta(days=8), today=today, actor=desk)
    for item in said_today.filter(vehicle=history.vehicles["snoozed"]):
        snooze(
            item=item,
            until=today + timedelta(days=21),
            today=today,
            actor=desk,
            why="back from the coast in three weeks",
        )


class _NoSuchMailbox:
    """A mail server that knows nobody, for the one message of the demo that fails."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Nothing was opened."""

    def send(self, message: EmailMessage, *, sender: str, to: str) -> None:
        raise RefusedError(f"550 5.1.1 No mailbox here by the name of {to}", address_is_dead=True)


def _let_a_mail_fail(customer: Customer, today: date, vehicle: Vehicle) -> None:
    """Three days ago a mail came back; since then the desk has to phone."""
    zone = ZoneInfo(settings.SHOP_TIME_ZONE)
    then = datetime.combine(today - timedelta(days=3), time(10), zone)
    queue_mail(
        Letter(
            key=f"demo:visit:{customer.pk}",
            kind="note",
            category=Category.BOOKING,
            customer_id=customer.pk,
            to_address=customer.emails.get().address,
            to_name=customer.name,
            subject="After your visit",
            text=(
                f"Hello {customer.name},\n\nthe {vehicle} is done and stands in the yard, fuse A3 "
                "lies in the cup holder. Please put it back before you start the engine.\n\n"
                f"{settings.SHOP_NAME}, {settings.SHOP_PHONE}\n"
            ),
            not_before=then,
        )
    )
    deliver_waiting(now=then, recheck=lambda mail, now: None, transport=_NoSuchMailbox())
    settle(vehicle_ids=[vehicle.pk], cause="nightly", today=today, actor=PULLPIN)
