"""Parts: taken in, fitted, moved and taken out."""

from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms
from django.core.exceptions import ValidationError

from installs.domain.datecodes import AmbiguousDateCodeError, DateCodeError, parse_date_code
from installs.models import Component, ComponentKind, Fitting
from shop.people.models import Ownership
from vehicles.models import Vehicle

from .base import RecordForm
from .fields import DayField, NumberField, as_typed, chosen
from .pick import SHOWN, PickField
from .ports import PortsForm
from .vehicle import HUNDREDTH, TENTH, mass, typed_mass

State = Component.State
OFF_VEHICLE = [
    (State.IN_STOCK, "on the shelf: may be fitted again"),
    (State.REMOVED, "taken out: not decided yet"),
    (State.HELD, "held back: may not be fitted"),
    (State.SCRAPPED, "scrapped"),
]
MASSES = ("rating_kg", "least_kg")
LEFT_IN = (("yes", "yes, it stays in the vehicle"), ("no", "no, it came out as well"))


class ComponentForm(RecordForm):
    """One part with its own life."""

    kind = forms.ModelChoiceField(
        label="Kind of part", queryset=ComponentKind.objects.all(), empty_label="choose"
    )
    maker_model = forms.CharField(label="Maker and model", max_length=80, required=False)
    serial = forms.CharField(label="Serial", max_length=60, required=False)
    lot = forms.CharField(label="Lot", max_length=40, required=False)
    date_code_typed = forms.CharField(
        label="Date code as marked",
        max_length=20,
        required=False,
        help_text="Year and month, 2024-03, or year and week, 2024-W07.",
    )
    rating_kg = mass(
        "Rating", help_text="As its label says; of a pair, each of the two. Never a guess."
    )
    least_kg = mass(
        "Lower end", help_text="Only where the label gives a range, as of a brake unit."
    )
    rating_basis = forms.ChoiceField(
        label="The rating is",
        choices=Component.RatingBasis.choices,
        required=False,
        help_text="Of cables and chains: a breaking load is about three times a working load.",
    )
    rating_source = forms.CharField(
        label="Where it is read",
        max_length=120,
        required=False,
        help_text="Label on the part, maker's sheet and its edition.",
    )
    capacity_ah = NumberField(
        label="Amp-hours",
        required=False,
        above=0,
        most=2000,
        help_text="Of a battery: its 20-hour figure.",
    )
    state = forms.ChoiceField(label="Where it is", choices=OFF_VEHICLE)
    shared = forms.BooleanField(
        label="Used on more than one vehicle in turn",
        required=False,
        help_text="It is recorded on one vehicle at a time; each vehicle needs its own proof.",
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))

    def values_of(self, record: Component) -> dict[str, Any]:
        """Return the part as this form shows it."""
        names = (
            "maker_model", "serial", "lot", "date_code_typed", "shared", "note", "rating_basis",
            "rating_source", "capacity_ah",
        )  # fmt: skip
        values = {name: getattr(record, name) for name in names}
        values |= {"kind": record.kind_id, **{name: typed_mass(record, name) for name in MASSES}}
        return values if record.state == State.FITTED else {**values, "state": record.state}

    def build(self) -> None:
        if self.record is None or self.record.state == State.FITTED:
            # A new part starts on the shelf; a fitted one is taken out on its own form.
            del self.fields["state"]

    def rows(self) -> list[Any]:
        state = ["state"] if "state" in self.fields else []
        return [
            Row("kind", "maker_model"),
            Row("serial", "lot", "date_code_typed"),
            Fieldset(
                "What its label lets it bear",
                Row("rating_kg", "least_kg"),
                Row("rating_basis", "rating_source"),
                "capacity_ah",
            ),
            *state,
            "shared",
            "note",
        ]

    def clean_kind(self) -> ComponentKind:
        """Refuse another kind while the part is set up on a vehicle: its wiring is of this kind."""
        kind: ComponentKind = self.cleaned_data["kind"]
        if self.record is None or kind.pk == self.record.kind_id:
            return kind
        on = Fitting.objects.on_sheets().filter(component=self.record).select_related("vehicle")
        if on:
            where = ", ".join(str(fitting.vehicle) for fitting in on)
            raise ValidationError(
                f"It is set up on {where} as {self.record.kind}, and proven as such. Take it off "
                "first, or take in a part of the other kind."
            )
        return kind

    def clean_date_code_typed(self) -> str:
        """Read the date code; one that can mean two dates is asked about."""
        typed: str = self.cleaned_data["date_code_typed"]
        self.date_code = None
        if not typed:
            return typed
        try:
            self.date_code = parse_date_code(typed, today=self.today)
        except AmbiguousDateCodeError as question:
            meant = " or ".join(text for text, _ in question.choices)
            raise ValidationError(
                f"{question} Enter {meant}." if meant else str(question)
            ) from None
        except DateCodeError as fault:
            raise ValidationError(str(fault)) from fault
        return typed

    def clean(self) -> dict[str, Any]:
        """Refuse a serial that this kind has already, naming where that part is."""
        cleaned = super().clean()
        self._check_rating(cleaned)
        if cleaned.get("serial") and cleaned.get("kind"):
            twins = Component.objects.filter(kind=cleaned["kind"], serial=cleaned["serial"])
            twin = twins.exclude(pk=getattr(self.record, "pk", None)).first()
            if twin:
                self.add_error(
                    "serial", f"{twin} is in the records already, {twin.get_state_display()}."
                )
        return cleaned

    def _check_rating(self, cleaned: dict[str, Any]) -> None:
        most, least = cleaned.get("rating_kg"), cleaned.get("least_kg")
        if most is not None and most.canonical <= 0:
            self.add_error("rating_kg", "A rating is more than 0; leave it empty if not known.")
        if least is not None and most is None:
            self.add_error("rating_kg", "A range has an upper end as well: enter it here.")
        if most is not None and least is not None and least.canonical > most.canonical:
            self.add_error("least_kg", f"The range ends at {most.typed} {most.unit}, below this.")

    @property
    def columns(self) -> dict[str, Any]:
        """The part's columns, as the services take them."""
        values = {n: v for n, v in self.cleaned_data.items() if n not in ("version", "once")}
        kept = {name: as_typed(values[name]) for name in MASSES if values[name] is not None}
        for name in kept:
            values[name] = values[name].canonical.quantize(HUNDREDTH)
        if values["capacity_ah"] is not None:
            values["capacity_ah"] = values["capacity_ah"].quantize(TENTH)
        return {**values, "as_typed": kept, "date_code": self.date_code}


class ChoosePartForm(RecordForm):
    """Which part is to be fitted."""

    def build(self) -> None:
        free = Component.objects.filter(state__in=(State.IN_STOCK, State.REMOVED))
        rows = free.select_related("kind")
        self.fields["component"] = PickField(
            rows=rows, offered=rows.on_the_shelf()[:SHOWN], label="Part"
        )


class FitForm(PortsForm):
    """A part goes onto a vehicle."""

    places = {"component": "since", "ports": "since"}

    since = DayField(label="Fitted on")
    place = forms.CharField(label="Where it is mounted", max_length=120, required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))

    def build(self) -> None:
        super().build()
        self.fields["since"].latest = self.fields["since"].initial = self.today

    def rows(self) -> list[Any]:
        return [Row("since", "place"), *self.port_rows(), Fieldset("Besides", "note")]


class FittingForm(PortsForm):
    """Where a fitted part is mounted and what it hangs on."""

    place = forms.CharField(label="Where it is mounted", max_length=120, required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))
    why = forms.CharField(
        label="Why", max_length=200, required=False, help_text="For the log: rewired, corrected."
    )

    def values_of(self, record: Fitting) -> dict[str, Any]:
        """Return the fitting as this form shows it."""
        return {"place": record.place, "note": record.note, **self.port_values(record.ports)}

    def rows(self) -> list[Any]:
        return ["place", *self.port_rows(), Fieldset("Besides", "note", "why")]


class MoveForm(RecordForm):
    """A part goes from one vehicle to another."""

    places = {"until": "on", "since": "on", "component": "vehicle"}

    on = DayField(label="Moved on")
    wiring = forms.ChoiceField(
        label="Does the wiring stay in the old vehicle?",
        choices=LEFT_IN,
        widget=forms.RadioSelect,
    )
    place = forms.CharField(label="Where it is mounted now", max_length=120, required=False)
    why = forms.CharField(label="Why", max_length=200)

    def __init__(self, *args: Any, fitting: Fitting, **kwargs: Any) -> None:
        self.fitting = fitting
        super().__init__(*args, **kwargs)

    def build(self) -> None:
        """Offer the other towed vehicles of the same customer."""
        rows = Vehicle.objects.towed().exclude(pk=self.fitting.vehicle_id)
        owners = Ownership.objects.current().filter(vehicle=self.fitting.vehicle_id)
        offered = rows.filter(
            ownerships__customer__in=owners.values("customer"), ownerships__until=None
        )
        picked = PickField(rows=rows, offered=offered, label="To which vehicle")
        self.fields = {"vehicle": picked, **self.fields}
        self.fields["on"].initial = self.fields["on"].latest = self.today


class RemoveForm(RecordForm):
    """A part comes off its vehicle."""

    until = DayField(label="Taken out on")
    wiring = forms.ChoiceField(
        label="Does the wiring stay in the vehicle?", choices=LEFT_IN, widget=forms.RadioSelect
    )
    becomes = forms.ChoiceField(
        label="What becomes of the part", choices=chosen(OFF_VEHICLE), widget=forms.Select
    )
    why = forms.CharField(label="Why", max_length=200)

    def build(self) -> None:
        self.fields["until"].initial = self.fields["until"].latest = self.today
