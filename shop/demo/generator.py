"""A fleet of any size for the benches, written past the services on purpose.

A hundred thousand vehicles through the services would take hours, so the rows are written in
bulk: no line in the log, no validation. What keeps them honest is that they are copies. One
pattern vehicle of each range is loaded and proven through the services, every other vehicle
repeats its rows, and the due dates come from the same calculation as everywhere. A test holds
them against the nightly run, which must find nothing to put right.

How it is spread, by the number of the vehicle: four vehicles of five have an owner of their own,
the fifth is a second one of the owner before; every other one has a coach. Of 50, one was last
looked at about a year ago, so all its items have come due; of 100, one was never proven. The
others were looked at and proven within the last ten months. Half of them have a turn that was done
a year before, which makes some eleven due items a vehicle, closed ones included.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from random import Random

from django.db import transaction
from django.db.models import Model

from installs.domain.basis import fingerprint
from installs.models import (
    Component,
    ComponentKind,
    Fitting,
    Inspection,
    Reverification,
    Standing,
    Verification,
)
from installs.services.parts import component_lookup
from installs.services.proof import NEVER_PROVEN
from shop.people.models import Customer, EmailAddress, Ownership, Phone
from shop.reminders.models import DueItem
from vehicles.domain.normal import lookup_text
from vehicles.models import Combination, Vehicle
from vehicles.records import PULLPIN
from vehicles.services import vehicle_lookup

from .basics import add_checks, add_kinds, add_rules
from .bulk.pattern import PATTERNS, Pattern
from .bulk.planner import Case, Planner
from .bulk.spread import COACH_EVERY, Spread
from .fleet import COACH_MODELS
from .people import PEOPLE, TOWNS
from .vins import invented_vin

AT_ONCE = 1_000
ROWS = 2_000


@dataclass(frozen=True)
class Fleet:
    """How many rows of each sort were added."""

    vehicles: int
    customers: int
    due_items: int


@dataclass
class _Batch:
    """The rows of one batch that refer to rows written before them."""

    numbers: range
    customers: dict[int, Customer] = field(default_factory=dict)
    vehicles: dict[int, Vehicle] = field(default_factory=dict)
    fittings: dict[int, list[Fitting]] = field(default_factory=dict)
    looks: dict[int, dict[int, Inspection]] = field(default_factory=dict)
    doubts: dict[int, Reverification] = field(default_factory=dict)


def make_fleet(*, vehicles: int, today: date, seed: int = 0) -> Fleet:
    """Add so many towed vehicles, with owners, coaches, parts, proofs and due items.

    `seed` picks the owners' names; all else follows from `today` and the numbers. Besides them
    stand the pattern vehicles of the first call, which nobody owns. A second call adds more. Give
    the database a fresh ANALYZE afterwards.
    """
    return _Maker(today, Random(seed)).make(vehicles)  # noqa: S311 -- a spread, not a secret


class _Maker:
    def __init__(self, today: date, random: Random) -> None:
        self.today, self.random = today, random
        self.customers = self.due_items = 0
        if not ComponentKind.objects.exists():
            kinds, checks = add_kinds(actor=PULLPIN), add_checks(actor=PULLPIN)
            add_rules(kinds=kinds, checks=checks, today=today, actor=PULLPIN)
        self.spread, self.planner = Spread(today), Planner(today)
        self.patterns = [Pattern.of_sheet(sheet, today=today) for sheet in PATTERNS]
        self.first = Vehicle.objects.order_by("-pk").values_list("pk", flat=True)[0] + 1

    def make(self, vehicles: int) -> Fleet:
        for start in range(0, vehicles, AT_ONCE):
            numbers = range(start, min(start + AT_ONCE, vehicles))
            with transaction.atomic():
                self.write(_Batch(numbers))
        return Fleet(vehicles, self.customers, self.due_items)

    def pattern_of(self, number: int) -> Pattern:
        return self.patterns[number % len(self.patterns)]

    # -- rows --------------------------------------------------------------------------

    def write(self, batch: _Batch) -> None:
        """Write one batch, each table after those that it refers to."""
        batch.customers = self.add_customers(batch.numbers)
        batch.vehicles = self.add_vehicles(batch.numbers)
        self.add_coaches(batch)
        batch.fittings = self.add_fittings(batch)
        batch.looks = self.add_looks(batch)
        batch.doubts = self.add_proofs(batch)
        items = [
            item
            for number in batch.numbers
            for item in self.planner.items(
                Case(
                    vehicle=batch.vehicles[number],
                    owner=batch.customers[number],
                    fittings=batch.fittings[number],
                    looks=batch.looks[number],
                    doubt=batch.doubts.get(number),
                )
            )
        ]
        save(DueItem, items)
        self.due_items += len(items)

    def add_customers(self, numbers: range) -> dict[int, Customer]:
        """Return the owner of each number; the fifth belongs to the owner of the fourth."""
        towns = list(TOWNS.values())
        owners: dict[int, Customer] = {}
        reach = []
        for number in numbers:
            if self.spread.is_second(number) and number - 1 in owners:
                owners[number] = owners[number - 1]
                continue
            serial = self.first + number
            like = self.random.choice(PEOPLE)
            name, phone = f"{like.name} {serial}", f"{201 + serial % 700}-555-01{serial % 100:02}"
            address = f"{serial % 997 + 1} Quill Creek Road\n{towns[number % len(towns)]}"
            mailbox = f"fleet{serial}@mail.example"
            owners[number] = Customer(
                name=name,
                address=address,
                language=like.language,
                time_zone="America/Denver",
                lookup=lookup_text(
                    words=(name, address, mailbox, phone),
                    codes=(),
                    phones=(f"+1{phone.replace('-', '')}",),
                ),
            )
            reach.append((number, phone, mailbox))
        fresh = [owners[number] for number, _, _ in reach]
        save(Customer, fresh)
        save(
            Phone,
            (
                Phone(customer=owners[n], typed=phone, e164=f"+1{phone.replace('-', '')}")
                for n, phone, _ in reach
            ),
        )
        save(EmailAddress, (EmailAddress(customer=owners[n], address=m) for n, _, m in reach))
        self.customers += len(fresh)
        return owners

    def add_vehicles(self, numbers: range) -> dict[int, Vehicle]:
        rows = {}
        for number in numbers:
            like, serial = self.pattern_of(number).vehicle, self.first + number
            span = like.model_range
            year = span.year_from + number % (span.year_to - span.year_from + 1) if span else 2015
            vehicle = Vehicle(
                kind=Vehicle.Kind.TOWED,
                model_range=span,
                vin=invented_vin(
                    f"0FLEET{serial // 1_000_000:02}", year=year, serial=serial % 1_000_000
                ),
                plate=f"F {serial}",
                year=year,
                colour="white",
                gvwr_kg=like.gvwr_kg,
                **{name: getattr(like, name) for name in _LIKE},
            )
            vehicle.lookup = vehicle_lookup(vehicle)
            rows[number] = vehicle
        save(Vehicle, rows.values())
        return rows

    def add_coaches(self, batch: _Batch) -> None:
        """Ownerships of everything, and a coach for every other vehicle."""
        coaches = {}
        for number in batch.numbers[::COACH_EVERY]:
            make, model, chassis, *_ = COACH_MODELS[number // 2 % len(COACH_MODELS)]
            serial = self.first + number
            coach = Vehicle(
                kind=Vehicle.Kind.MOTORHOME,
                make=make,
                model=model,
                year=2013 + number % 10,
                chassis_make=chassis,
                chassis_year=2012 + number % 10,
                coach_serial=f"F{serial}",
            )
            coach.lookup = vehicle_lookup(coach)
            coaches[number] = coach
        save(Vehicle, coaches.values())
        owned = [*batch.vehicles.items(), *coaches.items()]
        save(
            Ownership,
            (
                Ownership(
                    customer=batch.customers[n], vehicle=vehicle, since=self.spread.fitted_on(n)
                )
                for n, vehicle in owned
            ),
        )
        save(
            Combination,
            (
                Combination(
                    motorhome=coach, towed=batch.vehicles[n], since=self.spread.fitted_on(n)
                )
                for n, coach in coaches.items()
            ),
        )

    def add_fittings(self, batch: _Batch) -> dict[int, list[Fitting]]:
        """The pattern's parts, each a component of its own; batteries with a date code."""
        fitted: dict[int, list[Fitting]] = {}
        for number in batch.numbers:
            since = self.spread.fitted_on(number)
            fitted[number] = [
                Fitting(
                    component=self.component(like, number, since),
                    vehicle=batch.vehicles[number],
                    since=since,
                    place=like.place,
                    ports=like.ports,
                )
                for like in self.pattern_of(number).fittings
            ]
        rows = [row for several in fitted.values() for row in several]
        save(Component, (row.component for row in rows))
        for row in rows:
            # Told again now that the component has its number; by the number alone it would be
            # fetched anew each time.
            row.component = row.component
        save(Fitting, rows)
        return fitted

    def component(self, like: Fitting, number: int, since: date) -> Component:
        kind = like.component.kind
        made = since.replace(day=1) if kind.slug == "breakaway_battery" else None
        component = Component(
            kind=kind,
            serial=f"F{self.first + number}",
            state=Component.State.FITTED,
            date_code=made,
            date_code_typed=f"{made:%Y-%m}" if made else "",
        )
        component.lookup = component_lookup(component)
        return component

    def add_looks(self, batch: _Batch) -> dict[int, dict[int, Inspection]]:
        """One passed inspection for each part that is looked at every so many months."""
        looks: dict[int, dict[int, Inspection]] = {}
        for number, several in batch.fittings.items():
            looks[number] = {}
            for fitting in several:
                check = self.planner.monthly_check(fitting.component.kind_id)
                if check is not None:
                    looks[number][fitting.pk] = Inspection(
                        vehicle=fitting.vehicle,
                        fitting=fitting,
                        component=fitting.component,
                        check_done_id=check,
                        done_on=self.spread.looked_on(number),
                        result=Inspection.Result.PASSED,
                        by="Teo Lindgard",
                    )
        save(Inspection, (look for mine in looks.values() for look in mine.values()))
        return looks

    def add_proofs(self, batch: _Batch) -> dict[int, Reverification]:
        """The pattern's proof with this vehicle's parts in it, or the question for one."""
        proofs, doubts, standings = [], {}, []
        for number, vehicle in batch.vehicles.items():
            pattern = self.pattern_of(number)
            basis = pattern.basis_for(batch.fittings[number])
            mark = fingerprint(basis)
            proven = self.spread.is_proven(number)
            if proven:
                proofs.append(
                    Verification(
                        vehicle=vehicle,
                        procedure_id=pattern.proof.procedure_id,
                        basis=basis,
                        fingerprint=mark,
                        measured=pattern.measured_for(batch.fittings[number]),
                        proven_on=self.spread.looked_on(number),
                        signed_by="Teo Lindgard",
                    )
                )
            else:
                doubts[number] = Reverification(
                    vehicle=vehicle,
                    cause=Reverification.Cause.VEHICLE_ADDED,
                    differences=[NEVER_PROVEN],
                    opened_on=self.spread.fitted_on(number),
                )
            judged = pattern.unproven
            if proven:
                judged = {name: getattr(pattern.standing, name) for name in judged}
            standings.append(
                Standing(
                    vehicle=vehicle,
                    proof=Standing.Proof.GOOD if proven else Standing.Proof.NEVER,
                    judged_on=self.today,
                    **{**judged, "fingerprint": mark},
                )
            )
        save(Verification, proofs)
        save(Reverification, doubts.values())
        save(Standing, standings)
        return doubts


_LIKE = ("make", "model", "engine", "gearbox", "drive")


def save(model: type[Model], rows: Iterable[Model]) -> None:
    """Write many new rows; each of them knows its number afterwards."""
    model._default_manager.bulk_create(list(rows), batch_size=ROWS)
