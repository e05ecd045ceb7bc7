"""Who owns a vehicle, which motorhome tows it, and what was read off it."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Row
from django import forms

from shop.people.models import Customer, Ownership
from vehicles.domain.units import RULES, Kind, UnitError, parse
from vehicles.models import Combination, Drive, Gearbox, Reading, ReadingCorrection, Vehicle

from .base import RecordForm
from .fields import DayField, chosen
from .pick import PickField
from .vehicle import FIRST_YEAR


class OwnershipStartForm(RecordForm):
    """The vehicle is somebody's from a day on."""

    places = {"vehicle": "customer"}

    since = DayField(label="Theirs since")
    why = forms.CharField(label="Note for the log", required=False, max_length=200)

    def build(self) -> None:
        picked = PickField(rows=Customer.objects.all(), label="New owner")
        self.fields = {"customer": picked, **self.fields}
        self.fields["since"].latest = self.fields["since"].initial = self.today


class OwnershipEndForm(RecordForm):
    """The vehicle is no longer theirs."""

    until = DayField(label="Theirs until")
    why = forms.CharField(
        label="Why", max_length=200, help_text="Sold, traded in, written off. Reminders stop."
    )

    def __init__(self, *args: Any, ownership: Ownership, **kwargs: Any) -> None:
        self.ownership = ownership
        super().__init__(*args, **kwargs)

    def build(self) -> None:
        field = self.fields["until"]
        field.initial = field.latest = self.today


class CombinationStartForm(RecordForm):
    """A motorhome tows a vehicle from a day on."""

    places = {"motorhome": "other", "towed": "other"}

    since = DayField(label="Since")
    why = forms.CharField(label="Note for the log", required=False, max_length=200)

    def __init__(self, *args: Any, vehicle: Vehicle, **kwargs: Any) -> None:
        self.vehicle = vehicle
        super().__init__(*args, **kwargs)

    def build(self) -> None:
        """Offer what the same customer has; anything else is looked for."""
        wanted = (
            Vehicle.objects.towed() if self.vehicle.is_motorhome else Vehicle.objects.motorhomes()
        )
        owners = Ownership.objects.current().filter(vehicle=self.vehicle).values("customer")
        offered = wanted.filter(ownerships__customer__in=owners, ownerships__until=None)
        label = "It tows" if self.vehicle.is_motorhome else "Towed behind"
        self.fields = {"other": PickField(rows=wanted, offered=offered, label=label), **self.fields}
        self.fields["since"].latest = self.fields["since"].initial = self.today


class CombinationEndForm(RecordForm):
    """The two are no longer driven together."""

    until = DayField(label="Until")
    why = forms.CharField(label="Why", required=False, max_length=200)

    def __init__(self, *args: Any, combination: Combination, **kwargs: Any) -> None:
        self.combination = combination
        super().__init__(*args, **kwargs)

    def build(self) -> None:
        field = self.fields["until"]
        field.initial = field.latest = self.today


UNITS = (("mi", "mi"), ("km", "km"), ("V", "V"), ("A", "A"), ("mA", "mA"))
KINDS = {
    Reading.What.ODOMETER: Kind.DISTANCE,
    Reading.What.TOWED: Kind.DISTANCE,
    Reading.What.BATTERY: Kind.VOLTAGE,
    Reading.What.DRAW: Kind.CURRENT,
    Reading.What.CHARGE: Kind.CURRENT,
    Reading.What.HOLD: Kind.CURRENT,
}
SHOWN_UNITS = {Kind.DISTANCE: "mi or km", Kind.VOLTAGE: "V", Kind.CURRENT: "A or mA"}
STORED_AT = Decimal("0.001")


class FigureForm(RecordForm):
    """What the forms of figures that are read off a vehicle share: a number and its unit."""

    unit = forms.ChoiceField(label="Unit", choices=UNITS)

    def read(self, name: str, kind: Kind) -> dict[str, Any]:
        """Return the figure of field `name` as `canonical` and `typed`; {} with a fault told."""
        text, unit = self.cleaned_data.get(name), self.cleaned_data.get("unit")
        if not text or not unit:
            return {}
        if unit not in RULES[kind].units:
            self.add_error("unit", f"This is read in {SHOWN_UNITS[kind]}.")
            return {}
        try:
            quantity = parse(kind, text, unit)
        except UnitError as fault:
            self.add_error(name, str(fault))
            return {}
        if kind is Kind.CURRENT and quantity.canonical < 0:
            self.add_error(name, "Enter the current without a sign, whichever way it flows.")
            return {}
        return {
            "canonical": quantity.canonical.quantize(STORED_AT),
            "typed": f"{quantity.typed.strip()} {quantity.unit}",
        }


class ReadingForm(FigureForm):
    """A figure read off the vehicle."""

    what = forms.ChoiceField(
        label="What was read",
        choices=chosen(Reading.What.choices),
        help_text="Many odometers stand still while towed: the distance towed is its own log.",
    )
    value = forms.CharField(label="It stood at", max_length=40)
    on = DayField(label="Read on")
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=300,
        help_text="Needed where it is lower than before: instrument replaced, earlier one misread.",
    )

    def build(self) -> None:
        self.fields["on"].latest = self.fields["on"].initial = self.today

    def rows(self) -> list[Any]:
        return ["what", Row("value", "unit"), "on", "note"]

    def clean(self) -> dict[str, Any]:
        """Read the figure as what it is said to be."""
        cleaned = super().clean()
        kind = KINDS.get(cleaned.get("what", ""))
        return cleaned | self.read("value", kind) if kind else cleaned


class CorrectionForm(FigureForm):
    """What a reading really stands for; what was read stays in the records."""

    sort = forms.ChoiceField(label="What happened", choices=chosen(ReadingCorrection.Sort.choices))
    total = forms.CharField(
        label="It stands for, in all",
        max_length=40,
        help_text="With a new instrument: what the old one showed last, and what was driven since.",
    )
    why = forms.CharField(label="Why", max_length=200)

    def rows(self) -> list[Any]:
        return ["sort", Row("total", "unit"), "why"]

    def clean(self) -> dict[str, Any]:
        """Read the total as a quantity of the reading's kind."""
        return super().clean() | self.read("total", KINDS[self.record.what])


class RangeForm(RecordForm):
    """A model range: vehicles that share a feed map and a tow procedure."""

    make = forms.CharField(label="Make", max_length=60)
    model = forms.CharField(label="Model", max_length=60)
    year_from = forms.IntegerField(label="First model year", min_value=FIRST_YEAR)
    year_to = forms.IntegerField(
        label="Last model year", min_value=FIRST_YEAR, help_text="This year included."
    )
    engine = forms.CharField(label="Engine", max_length=60, required=False)
    gearbox = forms.ChoiceField(
        label="Gearbox", required=False, choices=chosen(Gearbox.choices, first=("", "any"))
    )
    drive = forms.ChoiceField(
        label="Drive", required=False, choices=chosen(Drive.choices, first=("", "any"))
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))

    def rows(self) -> list[Any]:
        return [
            Row("make", "model"),
            Row("year_from", "year_to"),
            Row("engine", "gearbox", "drive"),
            "note",
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        first, last = cleaned.get("year_from"), cleaned.get("year_to")
        if first and last and last < first:
            self.add_error("year_to", f"The range ends in {last}, before it begins in {first}.")
        return cleaned
