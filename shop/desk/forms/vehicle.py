"""Motorhomes and towed vehicles."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms
from django.core.exceptions import ValidationError

from vehicles.domain.units import Kind
from vehicles.domain.vin import VinKind, VinReport, check_vin, clean_vin
from vehicles.models import Drive, Gearbox, ModelRange, Vehicle

from .base import RecordForm
from .fields import DayField, NumberField, QuantityField, as_typed, chosen

# 49 CFR 565.15: above this gross rating position 7 says nothing about the model year.
LIGHT_KG = 4536
FIRST_YEAR = 1900
HUNDREDTH, TENTH = Decimal("0.01"), Decimal("0.1")
MASSES = ("gvwr_kg", "gcwr_kg", "hitch_rating_kg", "receiver_kg", "weight_kg")


def mass(label: str, **kwargs: Any) -> QuantityField:
    """Return a field for a mass, in pounds unless chosen otherwise."""
    return QuantityField(Kind.MASS, unit="lb", label=label, required=False, **kwargs)


class VehicleForm(RecordForm):
    """What both kinds of vehicle have. `owned_since` is asked where a customer is known."""

    kind = ""

    make = forms.CharField(label="Make", max_length=60)
    model = forms.CharField(label="Model", max_length=60, required=False)
    year = forms.IntegerField(label="Model year", required=False)
    colour = forms.CharField(label="Colour", max_length=30, required=False)
    plate = forms.CharField(label="Plate", max_length=20, required=False)
    vin = forms.CharField(
        label="VIN",
        max_length=60,
        required=False,
        help_text="17 characters, never I, O or Q. Leave it empty until somebody reads the plate.",
    )
    gvwr_kg = mass("Gross rating (GVWR)")
    weight_kg = mass("Weight")
    weight_kind = forms.ChoiceField(
        label="Where the weight comes from", required=False, choices=Vehicle.WeightKind.choices
    )
    weighed_on = DayField(label="Weighed on", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))
    owned_since = DayField(label="Theirs since")

    def __init__(self, *args: Any, with_owner: bool = False, **kwargs: Any) -> None:
        self.with_owner = with_owner
        self.report: VinReport | None = None
        super().__init__(*args, **kwargs)

    def values_of(self, record: Vehicle) -> dict[str, Any]:
        """Return the vehicle as this form shows it."""
        typed = {name: typed_mass(record, name) for name in MASSES}
        rest = {name: getattr(record, name) for name in self.base_fields if hasattr(record, name)}
        known = {**rest, **typed}
        return {n: v for n, v in known.items() if n in self.base_fields and n != "version"}

    def build(self) -> None:
        for name in ("owned_since", "weighed_on"):
            self.fields[name].latest = self.today
        self.fields["owned_since"].initial = self.today
        if not self.with_owner:
            del self.fields["owned_since"]

    def owner_rows(self) -> list[Any]:
        """Return the part of the layout that is about the owner."""
        return ["owned_since"] if self.with_owner else []

    def clean_year(self) -> int | None:
        return self.checked_year("year")

    def checked_year(self, name: str) -> int | None:
        """Return the year, or raise where no vehicle can be of it."""
        year: int | None = self.cleaned_data[name]
        latest = self.today.year + 2
        if year is not None and not FIRST_YEAR <= year <= latest:
            raise ValidationError(f"A year is between {FIRST_YEAR} and {latest}.")
        return year

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        self._check_vin(cleaned)
        if cleaned.get("weight_kg") and not cleaned.get("weight_kind"):
            self.add_error(
                "weight_kind", "Say where this figure comes from: a scale, or the maker's papers."
            )
        return cleaned

    def vin_year(self, cleaned: Mapping[str, Any]) -> int | None:
        """Return the year that position 10 speaks of."""
        return cleaned.get("year")

    def _check_vin(self, cleaned: dict[str, Any]) -> None:
        typed = cleaned.get("vin")
        if not typed:
            return
        gross = cleaned.get("gvwr_kg")
        light = None if gross is None or self.kind == "motorhome" else gross.canonical <= LIGHT_KG
        report = check_vin(typed, model_year=self.vin_year(cleaned), light=light)
        for fault in report.faults:
            self.add_error("vin", fault)
        if report.suggestion:
            self.add_error("vin", f"If that is what the plate says, enter {report.suggestion}.")
        if report.kind is VinKind.STANDARD and report.match_key:
            twin = Vehicle.objects.filter(vin=report.text).exclude(
                pk=getattr(self.record, "pk", None)
            )
            if twin.exists():
                self.add_error(
                    "vin",
                    f"{twin[0]} with this VIN is in the records already. "
                    "Open that one and enter its new owner there.",
                )
        self.report = report

    @property
    def columns(self) -> dict[str, Any]:
        """Every column that this form decides, as the services take them."""
        values = {
            name: value
            for name, value in self.cleaned_data.items()
            if name not in ("version", "once", "owned_since")
        }
        kept = {}
        for name in MASSES:
            quantity = values.get(name)
            if quantity is None:
                continue
            values[name] = quantity.canonical.quantize(HUNDREDTH)
            if not self._stood_plainly(name, values[name]):
                kept[name] = as_typed(quantity)
        values["vin"] = clean_vin(values["vin"])
        return {**values, "as_typed": kept}

    def _stood_plainly(self, name: str, value: Decimal) -> bool:
        """Tell whether this mass is as before and nobody ever typed it (an import did)."""
        record = self.record
        if not isinstance(record, Vehicle) or name in record.as_typed:
            return False
        return bool(getattr(record, name) == value)

    def notes(self) -> list[str]:
        """Return what is odd and does not block."""
        return list(self.report.notes) if self.report else []


def typed_mass(record: Any, name: str) -> dict[str, str] | None:
    """Return a stored mass as a person typed it, or in kilograms where nobody did."""
    value = getattr(record, name)
    if value is None:
        return None
    plain = {"number": f"{value.normalize():f}", "unit": "kg"}
    return record.as_typed.get(name) or plain


class TowedForm(VehicleForm):
    """A towed vehicle. Engine, gearbox and drive decide whether and how it may be towed."""

    kind = Vehicle.Kind.TOWED

    engine = forms.CharField(label="Engine", max_length=60, required=False)
    gearbox = forms.ChoiceField(
        label="Gearbox", required=False, choices=chosen(Gearbox.choices, first=("", "not recorded"))
    )
    drive = forms.ChoiceField(
        label="Drive", required=False, choices=chosen(Drive.choices, first=("", "not recorded"))
    )
    battery_ah = NumberField(
        label="Battery, amp-hours",
        required=False,
        above=0,
        most=2000,
        help_text="The 20-hour figure on its label. The tow sheet reckons its hours from it.",
    )
    battery_type = forms.ChoiceField(
        label="Battery, make-up", required=False, choices=Vehicle.BatteryType.choices
    )
    model_range = forms.ModelChoiceField(
        label="Model range",
        queryset=ModelRange.objects.all(),
        required=False,
        empty_label="found by make, model, year, engine, gearbox and drive",
        help_text="Its feed map and tow procedure hold for this vehicle until it has its own.",
    )

    def build(self) -> None:
        super().build()
        if self.record is not None:
            self.fields["model_range"].empty_label = "none"

    def rows(self) -> list[Any]:
        return [
            Row("year", "make", "model"),
            Fieldset("What decides the towing", Row("engine", "gearbox", "drive"), "model_range"),
            Fieldset("Which one it is", Row("plate", "colour"), "vin", *self.owner_rows()),
            Fieldset("Weights", Row("gvwr_kg", "weight_kg"), Row("weight_kind", "weighed_on")),
            Fieldset("Its battery", Row("battery_ah", "battery_type")),
            "note",
        ]

    @property
    def columns(self) -> dict[str, Any]:
        """As for every vehicle; a range that was not touched is looked up again."""
        values = super().columns
        if values["battery_ah"] is not None:
            values["battery_ah"] = values["battery_ah"].quantize(TENTH)
        known = getattr(self.record, "model_range", None)
        if values["model_range"] == known:
            del values["model_range"]
        return values


class MotorhomeForm(VehicleForm):
    """A motorhome: a coach built on a chassis, and each has its own maker and year."""

    kind = Vehicle.Kind.MOTORHOME

    coach_serial = forms.CharField(label="Coach serial", max_length=40, required=False)
    chassis_make = forms.CharField(label="Chassis make", max_length=60, required=False)
    chassis_year = forms.IntegerField(
        label="Chassis year",
        required=False,
        help_text="Ask or read it off the chassis plate. It is often a year before the coach's, "
        "and it is never worked out from the VIN.",
    )
    gcwr_kg = mass("Combination rating (GCWR)")
    hitch_rating_kg = mass("Hitch rating", help_text="The coach's hitch label, as a whole.")
    receiver_kg = mass("Receiver rating", help_text="The label on the receiver itself.")
    lamp_scheme = forms.ChoiceField(
        label="Stop and turn lamps", required=False, choices=Vehicle.LampScheme.choices
    )

    def rows(self) -> list[Any]:
        return [
            Fieldset("The coach", Row("year", "make", "model"), Row("coach_serial", "colour")),
            Fieldset("The chassis", Row("chassis_year", "chassis_make"), "vin"),
            Row("plate", "lamp_scheme"),
            *self.owner_rows(),
            Fieldset(
                "Ratings and weight",
                Row("gvwr_kg", "gcwr_kg"),
                Row("hitch_rating_kg", "receiver_kg"),
                Row("weight_kg", "weight_kind", "weighed_on"),
            ),
            "note",
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse ratings that contradict each other: nothing could be towed then."""
        cleaned = super().clean()
        combined = cleaned.get("gcwr_kg")
        if combined is None:
            return cleaned
        for name, what in (("gvwr_kg", "GVWR"), ("weight_kg", "weight")):
            alone = cleaned.get(name)
            if alone is not None and alone.canonical >= combined.canonical:
                self.add_error(
                    name,
                    f"This {what} is not below the GCWR of {combined.typed} {combined.unit}, so "
                    "nothing could be towed; read the label again.",
                )
        return cleaned

    def clean_chassis_year(self) -> int | None:
        return self.checked_year("chassis_year")

    def vin_year(self, cleaned: Mapping[str, Any]) -> int | None:
        """The number belongs to the chassis, so its year does."""
        return cleaned.get("chassis_year")

    def notes(self) -> list[str]:
        said = super().notes()
        if self.report and self.report.model_years and not self.cleaned_data["chassis_year"]:
            years = " or ".join(map(str, self.report.model_years))
            said.append(
                f"The VIN allows {years} as chassis year. Which one it is, was not entered."
            )
        return said


FORMS: dict[str, type[VehicleForm]] = {
    Vehicle.Kind.TOWED: TowedForm,
    Vehicle.Kind.MOTORHOME: MotorhomeForm,
}
