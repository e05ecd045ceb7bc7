"""What stands against taking a vehicle sheet into the records: every fault with its place."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from installs.domain.datecodes import DateCodeError, parse_date_code
from installs.domain.looks import SeenLook
from installs.domain.ports import Kind
from installs.domain.sheet import Sheet
from installs.models import Component, ComponentKind, Fitting
from installs.reads import kind_document
from vehicles.domain.faults import Fault, pointer
from vehicles.domain.vin import check_vin
from vehicles.models import Drive, Gearbox, ModelRange, Vehicle

WEIGHTS = ("gvwr_kg", "weight_kg")
CHOICES = {"gearbox": Gearbox, "drive": Drive}
RANGE_IDENTITY = ("make", "model", "year_from", "year_to", "engine", "gearbox", "drive")
RANGE_NEEDS = ("make", "model", "year_from", "year_to")


def faults_against_records(sheet: Sheet, *, today: date) -> list[Fault]:
    """Return every reason why the sheet cannot be taken into these records; [] where none."""
    return [
        *_vehicle_faults(sheet.vehicle, today),
        *_range_faults(sheet.range, sheet.vehicle),
        *_kind_faults(sheet.kinds),
        *_fitting_faults(sheet, today),
        *_look_faults("/looks", sheet.looks, today),
    ]


def exact_range(told: Mapping[str, Any]) -> ModelRange | None:
    """Return the range of just this identity, None where the records have none."""
    blank = {"engine": "", "gearbox": "", "drive": ""}
    identity = {**blank, **{name: told[name] for name in RANGE_IDENTITY if told.get(name)}}
    return ModelRange.objects.filter(**identity).first()


def same_needs(known: ComponentKind, kind: Kind) -> bool:
    """Tell whether the records' kind asks for the same as the sheet's; remarks do not count."""
    written = Kind.from_dict(kind_document(known), code=kind.code)
    if kind.duty and kind.duty != written.duty:
        return False
    return (written.ports, set(written.cures)) == (kind.ports, set(kind.cures))


def _vehicle_faults(told: Mapping[str, Any], today: date) -> Iterator[Fault]:
    if not told.get("make"):
        yield Fault("/vehicle/make", "“make” is missing: the records file a vehicle under it.")
    yield from _choice_faults("/vehicle", told)
    for name in told.get("weights", {}):
        if name not in WEIGHTS:
            yield Fault(
                pointer(["vehicle", "weights", name]),
                f"“{name}” is not a weight that the records keep: {', '.join(WEIGHTS)}.",
            )
    yield from _about_faults(told.get("about", {}), today)
    if told.get("vin"):
        yield from _vin_faults(told)


def _vin_faults(told: Mapping[str, Any]) -> Iterator[Fault]:
    report = check_vin(told["vin"], model_year=told.get("year"))
    for sentence in report.faults:
        yield Fault("/vehicle/vin", sentence)
    key = report.match_key
    known = Vehicle.objects.filter(vin__in={told["vin"], key}).first() if key else None
    if known:
        yield Fault("/vehicle/vin", f"This VIN is in the records already: {known}.")


def _about_faults(about: Mapping[str, Any], today: date) -> Iterator[Fault]:
    yield from _day_fault("/vehicle/about/weighed_on", about.get("weighed_on"), today)
    kind = about.get("weight_kind", "")
    if kind not in Vehicle.WeightKind.values:
        known = ", ".join(value for value in Vehicle.WeightKind.values if value)
        yield Fault("/vehicle/about/weight_kind", f"“{kind}” is not one of: {known}.")


def _day_fault(place: str, text: Any, today: date) -> Iterator[Fault]:
    """A fault where `text` is given and is no day up to today."""
    if text in (None, ""):
        return
    try:
        day = date.fromisoformat(str(text))
    except ValueError:
        yield Fault(place, f"“{text}” is not a date such as 2026-03-14.")
        return
    if day > today:
        yield Fault(place, f"“{text}” lies in the future.")


def _choice_faults(place: str, told: Mapping[str, Any]) -> Iterator[Fault]:
    for name, choices in CHOICES.items():
        value = told.get(name)
        if value and value not in choices.values:
            known = ", ".join(choices.values)
            yield Fault(f"{place}/{name}", f"“{value}” is not one of: {known}.")


def _range_faults(told: Mapping[str, Any], vehicle: Mapping[str, Any]) -> Iterator[Fault]:
    if not told:
        return
    missing = [name for name in RANGE_NEEDS if not told.get(name)]
    for name in missing:
        yield Fault(f"/range/{name}", f"“{name}” is missing: a range is told by it.")
    yield from _choice_faults("/range", told)
    if missing:
        return
    for name in ("make", "model", "engine", "gearbox", "drive"):
        wanted, given = str(told.get(name) or ""), str(vehicle.get(name) or "")
        if wanted and wanted.casefold() != given.casefold():
            yield Fault(
                f"/range/{name}",
                f"The range is for “{wanted}”, the vehicle says “{given or 'nothing'}”.",
            )
    year = vehicle.get("year")
    if year is None or not told["year_from"] <= year <= told["year_to"]:
        yield Fault(
            "/range",
            f"The range covers {told['year_from']} to {told['year_to']}, "
            f"the vehicle's year is {year or 'not given'}.",
        )


def _kind_faults(kinds: Mapping[str, Kind]) -> Iterator[Fault]:
    for known in ComponentKind.objects.filter(slug__in=kinds):
        if not same_needs(known, kinds[known.slug]):
            yield Fault(
                pointer(["kinds", known.slug]),
                f"The records describe “{known.slug}” with other needs. Give it another code here, "
                "or bring the kind in the records up to date first.",
            )


def _fitting_faults(sheet: Sheet, today: date) -> Iterator[Fault]:
    seen: set[tuple[str, str]] = set()
    for at, fitting in enumerate(sheet.fittings):
        place = f"/fittings/{at}"
        yield from _day_fault(f"{place}/about/since", fitting.about.get("since"), today)
        yield from _look_faults(f"{place}/looks", fitting.looks, today)
        if fitting.date_code:
            try:
                parse_date_code(fitting.date_code, today=today)
            except DateCodeError as fault:
                yield Fault(f"{place}/date_code", str(fault))
        key = (fitting.kind, fitting.serial)
        if fitting.serial and key in seen:
            yield Fault(f"{place}/serial", f"“{fitting.serial}” is on this sheet twice.")
        elif fitting.serial:
            yield from _part_fault(place, fitting.kind, fitting.serial)
        seen.add(key)


def _look_faults(place: str, looks: Iterable[SeenLook], today: date) -> Iterator[Fault]:
    for at, look in enumerate(looks):
        yield from _day_fault(f"{place}/{at}/on", look.on, today)


def _part_fault(place: str, kind: str, serial: str) -> Iterator[Fault]:
    """A fault where the records have this part, and it is not free to be fitted."""
    known = Component.objects.filter(kind__slug=kind, serial=serial).first()
    if known is None:
        return
    fitted = Fitting.objects.current().filter(component=known).select_related("vehicle").first()
    if fitted:
        yield Fault(
            f"{place}/serial", f"{known} is fitted to {fitted.vehicle}. Move it from there."
        )
    elif known.state in (Component.State.HELD, Component.State.SCRAPPED):
        yield Fault(f"{place}/serial", f"{known} is {known.get_state_display()}.")
