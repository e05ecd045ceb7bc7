"""What happened in the demo's shop, day by day, told through the same services as the screens use.

Every service is told the day on which it happened, so proofs, re-verifications and due dates are
those that a shop would have that worked like this.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Any

from installs.domain.measured import Measured
from installs.models import Check, Component, Fitting, Inspection, Verification
from installs.services import inspections, judging, parts, signing
from shop import changes
from shop.people.models import Customer, Ownership
from shop.reminders.services import refresh_due
from shop.sheets import load_sheet
from vehicles import services as vehicles
from vehicles.domain.units import Kind, to_canonical
from vehicles.models import Combination, Reading, Vehicle
from vehicles.records import Actor

from .basics import check_of_kind
from .chain import CHAINS, Told, measure_chain
from .documents import bulletin_procedure, document_of
from .fleet import COACHES, TOWED, Coach, Towed
from .vins import invented_vin

BULLETIN, SOLD, SWAPPED, SHARED, OUTSIDE, FOUND = 9, 33, 25, 60, 4, 2
# Of which car which part, what came of the look, and what was seen.
BAD_LOOKS = (
    ("quiet_04", "breakaway_switch", "nothing", "pin out, the brake unit did not move"),
    ("quiet_12", "tow_bar", "stiff", "left arm locks with a mallet only"),
)
MEASURED_CHAINS = 41
NOT_TOWED = {"not_towable", "not_established"}
MEASURED: dict[str, dict[str, Any]] = {
    "breakaway_test": {"held minutes": "18", "volts before": "12.8", "volts after": "12.2"},
    "cable_wear": {"broken_wires": 0, "diameter_mm": 7.9},
    "plate_bolts": {"torque_nm": 75, "wrench": "TW-2"},
    "self_test": {"strokes": 3, "released": "yes"},
    "cord_sockets": {"drop_v": 0.2},
    "link_test": {"alarm": "heard"},
}


@dataclass(frozen=True)
class Deed:
    """Something that was done so many days ago."""

    days: int
    do: Callable[[date], object]


def prove_sound(vehicle: Vehicle, *, day: date, actor: Actor) -> Verification:
    """Sign a proof with the values that a sound vehicle shows in the tow state."""
    measured = [
        Measured(
            component=want.component,
            port=want.port,
            state=want.state,
            volts=12.6 if want.demand == "on" else 0.0,
            minutes_since_key_off=None if want.state == "drive" else want.earliest_minutes + 10,
        )
        for want in signing.wanted_values(judging.judge_vehicle(vehicle))
    ]
    return changes.sign_verification(
        vehicle=vehicle, measured=measured, proven_on=day, today=day, actor=actor
    )


@dataclass
class History:
    """The shop's past. `customers` by their key; `vehicles` fills up while it is lived through."""

    today: date
    desk: Actor
    technician: Actor
    customers: dict[str, Customer]
    checks: dict[str, Check]
    vehicles: dict[str, Vehicle] = field(default_factory=dict)
    coaches: dict[str, Vehicle] = field(default_factory=dict)

    def live(self) -> None:
        """Do everything, the oldest first; what happened on one day in the order of the list."""
        for deed in sorted(self._deeds(), key=lambda deed: -deed.days):
            deed.do(self.today - timedelta(days=deed.days))

    def _deeds(self) -> Iterator[Deed]:
        for coach in COACHES:
            yield Deed(coach.since, partial(self.add_coach, coach))
        for car in TOWED:
            yield Deed(car.since, partial(self.add_car, car))
            if car.looked is not None:
                yield Deed(car.looked, partial(self.inspect, car))
            if car.proven is not None:
                yield Deed(car.proven, partial(self.prove, car.key))
        for key, told in CHAINS.items():
            yield Deed(MEASURED_CHAINS, partial(self.measure_chain, key, told))
        yield Deed(SHARED, self.carry_over_the_shared_unit)
        yield Deed(SOLD, partial(self.sell, "sold", why="sold to a neighbour in town"))
        yield Deed(SWAPPED, self.swap)
        yield Deed(SWAPPED, partial(self.sell, "swapped_old", why="traded in"))
        yield Deed(BULLETIN, self.read_the_bulletin)
        yield Deed(OUTSIDE, self.hear_of_outside_work)
        for key, kind, result, note in BAD_LOOKS:
            yield Deed(FOUND, partial(self.find_trouble, key, kind, result, note=note))

    # -- vehicles ----------------------------------------------------------------------

    def add_coach(self, coach: Coach, day: date) -> None:
        """Take a motorhome in, with what its labels and the scale say."""
        weights: dict[str, Any] = {}
        typed = {}
        for name, pounds in (
            ("gvwr_kg", coach.gvwr_lb),
            ("gcwr_kg", coach.gcwr_lb),
            ("hitch_rating_kg", coach.hitch_lb),
            ("weight_kg", coach.scaled_lb),
        ):
            if pounds is not None:
                weights[name] = to_canonical(Kind.MASS, Decimal(pounds), "lb").quantize(
                    Decimal("0.01")
                )
                typed[name] = {"number": str(pounds), "unit": "lb"}
        if coach.scaled_lb is not None:
            weights |= {"weight_kind": Vehicle.WeightKind.SCALED_LOADED, "weighed_on": day}
        serial = 400_001 + 91 * COACHES.index(coach)
        self.coaches[coach.owner] = changes.add_vehicle_for_customer(
            customer=self.customers[coach.owner],
            since=day,
            today=day,
            actor=self.desk,
            kind=Vehicle.Kind.MOTORHOME,
            make=coach.make,
            model=coach.model,
            year=coach.year,
            chassis_make=coach.chassis_make,
            chassis_year=coach.year - 1,
            vin=invented_vin(
                f"0{coach.chassis_make[:2].upper().replace('I', '1')}HM742",
                year=coach.year - 1,
                serial=serial,
            ),
            coach_serial=f"{coach.model[:1]}{serial}",
            plate=f"RV {serial % 10_000}",
            lamp_scheme=Vehicle.LampScheme.COMBINED,
            as_typed=typed,
            **weights,
        )

    def add_car(self, car: Towed, day: date) -> None:
        """Load the car's sheet and tell which coach tows it."""
        vehicle = load_sheet(
            document_of(car, today=self.today),
            actor=self.desk,
            today=day,
            customer=self.customers[car.owner],
            since=day,
        )
        self.vehicles[car.key] = vehicle
        miles = 18_000 + 41 * car.since
        vehicles.add_reading(
            vehicle=vehicle,
            what=Reading.What.ODOMETER,
            value=to_canonical(Kind.DISTANCE, Decimal(miles), "mi"),
            typed=f"{miles} mi",
            on=day,
            actor=self.desk,
        )
        coach = self.coaches.get(car.owner)
        if coach is not None and car.key not in NOT_TOWED:
            vehicles.start_combination(motorhome=coach, towed=vehicle, since=day, actor=self.desk)

    def sell(self, key: str, day: date, *, why: str) -> None:
        """The customer no longer has the car; no coach tows it any more."""
        vehicle = self.vehicles[key]
        for pair in Combination.objects.current().filter(towed=vehicle):
            vehicles.end_combination(combination=pair, until=day, actor=self.desk, why=why)
        owned = Ownership.objects.current().get(vehicle=vehicle)
        changes.end_ownership(ownership=owned, until=day, why=why, today=day, actor=self.desk)

    # -- work in the bay ---------------------------------------------------------------

    def inspect(self, car: Towed, day: date) -> None:
        """Pass every check that a rule asks for on the parts of this car."""
        wanted = check_of_kind()
        fitted = Fitting.objects.current().filter(vehicle=self.vehicles[car.key])
        for fitting in fitted.select_related("component__kind").order_by("id"):
            check = wanted.get(fitting.component.kind.slug)
            if check is None:
                continue
            inspections.record_inspection(
                vehicle=self.vehicles[car.key],
                actor=self.technician,
                check=self.checks[check],
                done_on=day,
                result=Inspection.Result.PASSED,
                fitting=fitting,
                values=MEASURED.get(check, {}),
            )
        # Once for the whole visit, not after each of its checks.
        refresh_due(vehicle_ids=[self.vehicles[car.key].pk], today=day)

    def measure_chain(self, key: str, told: Told, day: date) -> None:
        """Read every label between coach and car, and measure as hitched."""
        pairs = Combination.objects.current().filter(towed=self.vehicles[key])
        for pair in pairs.select_related("motorhome", "towed"):
            measure_chain(pair, told, day=day, actor=self.technician)

    def prove(self, key: str, day: date) -> None:
        """Sign a proof of a sound vehicle."""
        prove_sound(self.vehicles[key], day=day, actor=self.technician)

    def find_trouble(self, key: str, kind: str, result: str, day: date, *, note: str) -> None:
        """A look at one part of this kind turned out bad."""
        fitted = Fitting.objects.current().filter(vehicle=self.vehicles[key])
        changes.record_inspection(
            vehicle=self.vehicles[key],
            today=day,
            actor=self.technician,
            check=self.checks[check_of_kind()[kind]],
            done_on=day,
            result=result,
            fitting=fitted.get(component__kind__slug=kind),
            note=note,
        )

    def _brake_of(self, key: str) -> Fitting:
        brakes = Fitting.objects.current().filter(
            vehicle=self.vehicles[key], component__kind__slug="portable_brake"
        )
        return brakes.select_related("component__kind", "vehicle").get()

    def carry_over_the_shared_unit(self, day: date) -> None:
        """One portable unit serves two cars in turn: today it works in the second."""
        fitting = self._brake_of("shared_first")
        parts.change_component(
            component=fitting.component,
            changes={"shared": True},
            version=Component.objects.get(pk=fitting.component_id).version,
            actor=self.desk,
        )
        changes.move_component(
            fitting=fitting,
            vehicle=self.vehicles["shared_second"],
            today=day,
            actor=self.technician,
            on=day,
            why="used in the other car for the winter",
            place="on the driver's floor",
            ports={"supply": {"feed": "outlet:kit", "ground": "body", "known": "measured"}},
            wiring_left_in=False,
        )
        self.prove("shared_second", day)

    def swap(self, day: date) -> None:
        """The unit goes to the new car; bar, wiring and base plate stay in the old one."""
        changes.move_component(
            fitting=self._brake_of("swapped_old"),
            vehicle=self.vehicles["swapped_new"],
            today=day,
            actor=self.technician,
            on=day,
            why="car traded in; the customer keeps the unit",
            place="on the driver's floor",
        )

    # -- what came from outside --------------------------------------------------------

    def read_the_bulletin(self, day: date) -> None:
        """A maker's bulletin names another fuse: every proof of that range is stale."""
        car = next(car for car in TOWED if car.key == "revised")
        changes.revise_procedure(
            content=bulletin_procedure(car),
            model_range=self.vehicles["revised"].model_range,
            today=day,
            actor=self.desk,
            why="bulletin 24-118 read",
        )

    def hear_of_outside_work(self, day: date) -> None:
        """Another shop worked on the brakes; nobody knows yet what it changed."""
        changes.report_outside_work(
            vehicle=self.vehicles["outside_work"],
            told="Stop lamp switch replaced at a dealer on the road, told on the phone.",
            today=day,
            actor=self.desk,
        )
