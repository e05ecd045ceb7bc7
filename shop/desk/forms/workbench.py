"""The workbench: a wire, a fuse or a battery tried without saving anything."""

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Row
from django import forms
from django.core.exceptions import ValidationError

from installs.models import Fitting
from vehicles.domain.fuse import BladeSize
from vehicles.domain.inputs import InputError
from vehicles.domain.numbers import NumberError, parse_number
from vehicles.domain.units import Kind
from vehicles.domain.wire import Standard, gauge_number
from vehicles.models import Vehicle

from .fields import QuantityField
from .ports import in_trade

MM_A_METRE = 1000
STANDARDS = (
    (Standard.SAE.value, "SAE automotive wire"),
    (Standard.AWG.value, "full AWG"),
    (Standard.METRIC.value, "metric, mm²"),
)
RETURNS = (("wire", "by a wire of the same size"), ("body", "by the body"))
USES = (("drop_share_critical", "brakes and lamps"), ("drop_share_other", "anything else"))


class PlainNumber(forms.CharField):
    """A number without a unit, or with the one that its label names."""

    def __init__(self, *, grouped: bool = False, **kwargs: Any) -> None:
        self.grouped = grouped
        super().__init__(max_length=12, required=False, **kwargs)
        self.widget.attrs["inputmode"] = "decimal"

    def clean(self, value: Any) -> float | None:
        """Return the number, None where nothing was typed."""
        text = super().clean(value)
        if not text:
            return None
        try:
            return float(parse_number(text, grouped=self.grouped))
        except NumberError as fault:
            raise ValidationError(str(fault)) from fault


class BenchForm(forms.Form):
    """One thing to try: read from the address, so that a result can be sent to somebody."""

    name = ""

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, prefix=self.name)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout(*self.rows())

    def rows(self) -> list[Any]:
        return list(self.fields)

    def number(self, name: str) -> float | None:
        """Return a field's value in its canonical unit, None where nothing was typed."""
        value = self.cleaned_data.get(name)
        canonical = getattr(value, "canonical", value)
        return None if canonical is None else float(canonical)

    def took_fault(self, fault: InputError, places: dict[str, str]) -> None:
        """Put what a calculation refuses beside the field that it speaks of."""
        place = places.get(fault.field, "")
        reason = f"{fault.reason[:1].upper()}{fault.reason[1:]}"
        self.add_error(place or None, reason if place else str(fault))


def gauge_of(text: str) -> int:
    """Return a gauge as it is marked on a wire; raise ValidationError with a sentence."""
    try:
        return gauge_number(text)
    except InputError as fault:
        raise ValidationError(f"{fault.reason[:1].upper()}{fault.reason[1:]}") from fault


class WireForm(BenchForm):
    """A wire: what is lost there and back, and the thinnest that would do."""

    name = "wire"
    standard = forms.ChoiceField(label="Wire", choices=STANDARDS)
    size = forms.CharField(
        label="Size", max_length=6, required=False, help_text="14, 2/0; metric: 2.5. As marked."
    )
    length = QuantityField(Kind.LENGTH, unit="ft", label="Length, one way", required=False)
    load = QuantityField(Kind.CURRENT, unit="A", label="Load", required=False)
    back = forms.ChoiceField(label="Way back", choices=RETURNS)
    use = forms.ChoiceField(label="It feeds", choices=USES)

    def rows(self) -> list[Any]:
        return [Row("standard", "size"), Row("length", "load"), Row("back", "use")]

    def record(self) -> dict[str, float]:
        """Return the wire as a port keeps it: gauge or mm², and metres; {} where one is missing."""
        told, length_mm = self.cleaned_data, self.number("length")
        size = {"awg": told["gauge"], "mm2": told["mm2"]}
        known = {name: float(value) for name, value in size.items() if value is not None}
        if not known or length_mm is None:
            return {}
        return {**known, "length_m": round(length_mm / MM_A_METRE, 3)}

    def clean(self) -> dict[str, Any]:
        """Read the size as its standard counts it; a run without length loses nothing."""
        cleaned = super().clean() or {}
        if cleaned.get("length") and cleaned["length"].canonical <= 0:
            self.add_error("length", "It must be more than 0.")
        text = (cleaned.get("size") or "").strip()
        cleaned["gauge"], cleaned["mm2"] = None, None
        try:
            if text and cleaned.get("standard") == Standard.METRIC:
                cleaned["mm2"] = float(parse_number(text.removesuffix("mm²").strip()))
            elif text:
                cleaned["gauge"] = gauge_of(text)
        except NumberError as fault:
            self.add_error("size", str(fault))
        except ValidationError as fault:
            self.add_error("size", fault)
        return cleaned


class FuseForm(BenchForm):
    """A fuse between its load and its wire."""

    name = "fuse"
    rating = QuantityField(Kind.CURRENT, unit="A", label="Rating of the fuse", required=False)
    load = QuantityField(Kind.CURRENT, unit="A", label="Lasting load", required=False)
    carries = QuantityField(
        Kind.CURRENT,
        unit="A",
        label="The wire may carry",
        required=False,
        help_text="Or give its size:",
    )
    size = forms.CharField(label="Wire, gauge as marked", max_length=6, required=False)
    blade = forms.ChoiceField(
        label="Blade",
        required=False,
        choices=[("", "any size"), *((size.value, size.value) for size in BladeSize)],
    )

    def rows(self) -> list[Any]:
        return [Row("rating", "load"), Row("carries", "size"), "blade"]

    def clean(self) -> dict[str, Any]:
        """Read the gauge, and refuse a wire that is given in two ways."""
        cleaned = super().clean() or {}
        text = (cleaned.get("size") or "").strip()
        cleaned["gauge"] = None
        if text and cleaned.get("carries"):
            self.add_error("size", "Give what the wire may carry, or its size, not both.")
        elif text:
            try:
                cleaned["gauge"] = gauge_of(text)
            except ValidationError as fault:
                self.add_error("size", fault)
        return cleaned


class BatteryForm(BenchForm):
    """A battery: its charge by the volts it rests at, and how long it lasts."""

    name = "battery"
    chemistry = forms.ChoiceField(
        label="Battery", required=False, choices=Vehicle.BatteryType.choices
    )
    volts = QuantityField(Kind.VOLTAGE, unit="V", label="Volts at rest", required=False)
    rested = PlainNumber(label="Hours rested")
    capacity = PlainNumber(label="Amp-hours (20-hour figure)")
    draw = QuantityField(Kind.CURRENT, unit="A", label="Current drawn", required=False)
    charge = QuantityField(
        Kind.CURRENT, unit="A", label="Brought by the charge line", required=False
    )
    hours = PlainNumber(label="It has to last, in hours")

    def rows(self) -> list[Any]:
        return [
            Row("chemistry", "capacity"),
            Row("volts", "rested"),
            Row("draw", "charge"),
            "hours",
        ]


class BreakawayForm(BenchForm):
    """A breakaway battery: how many minutes it holds the brakes once the pin is out."""

    name = "breakaway"
    chemistry = forms.ChoiceField(
        label="Battery", required=False, choices=Vehicle.BatteryType.choices
    )
    capacity = PlainNumber(label="Amp-hours (20-hour figure)")
    draw = QuantityField(
        Kind.CURRENT,
        unit="A",
        label="Current while the brakes hold",
        required=False,
        help_text="By a clamp meter, pin pulled.",
    )

    def rows(self) -> list[Any]:
        return [Row("chemistry", "capacity"), "draw"]


class WireRecordForm(forms.Form):
    """At which port of a fitted part a wire that was tried is recorded; at none by default."""

    port = forms.ChoiceField(label="Record it as the wire of", required=False)

    def __init__(self, data: Any = None, *, fitting: Fitting) -> None:
        super().__init__(data)
        named = [(name, f"its port {in_trade(name)}") for name in fitting.ports]
        self.fields["port"].choices = [("", "no port: only a note"), *named]


BENCHES: tuple[type[BenchForm], ...] = (WireForm, FuseForm, BatteryForm, BreakawayForm)
