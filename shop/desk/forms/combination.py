"""A combination as it stands hitched: what lies between coach and car, and how long it is."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms

from vehicles.domain.units import Kind
from vehicles.models import Combination

from .base import RecordForm
from .fields import DayField, QuantityField, as_typed
from .vehicle import mass

LENGTHS = (
    "bar_length_mm", "bar_rise_mm", "cables_mm", "lanyard_mm", "cord_mm", "slack_mm",
    "full_lock_mm", "loop_mm",
)  # fmt: skip
CHOICES = ("ball_mount", "lanyard_anchor", "measured_on")
STORED_AT = {"ball_mount_kg": Decimal("0.01")} | dict.fromkeys(LENGTHS, Decimal("0.1"))


def _length(label: str, help_text: str = "") -> QuantityField:
    return QuantityField(Kind.LENGTH, unit="in", label=label, required=False, help_text=help_text)


class HitchForm(RecordForm):
    """What a tape and a look under the coach tell. Empty means that nobody measured it."""

    ball_mount = forms.ChoiceField(
        label="Ball mount or drop", choices=Combination.BallMount.choices, required=False
    )
    ball_mount_kg = mass("Its rating", help_text="Stamped on it.")
    bar_length_mm = _length("Tow bar, length", "Along the bar, pin to pin.")
    bar_rise_mm = _length("Height between its ends", "At ride height, on level ground.")
    cables_mm = _length("Safety cables")
    lanyard_mm = _length("Breakaway lanyard")
    cord_mm = _length("Umbilical cord")
    slack_mm = _length("Slack of the cables", "With the combination straight.")
    full_lock_mm = _length("Taken by the tightest turn")
    loop_mm = _length("Lowest point above the ground")
    lanyard_anchor = forms.ChoiceField(
        label="The lanyard is hooked to", choices=Combination.Anchor.choices, required=False
    )
    measured_on = DayField(label="Measured on", required=False)
    why = forms.CharField(label="Note for the log", required=False, max_length=200)

    def values_of(self, record: Combination) -> dict[str, Any]:
        """Return the combination as this form shows it."""
        typed = {name: _as_stored(record, name) for name in STORED_AT}
        return {**typed, **{name: getattr(record, name) for name in CHOICES}}

    def build(self) -> None:
        self.fields["measured_on"].latest = self.today
        self.fields["measured_on"].initial = self.today

    def rows(self) -> list[Any]:
        return [
            Fieldset("Between receiver and bar", Row("ball_mount", "ball_mount_kg")),
            Fieldset("Tow bar", Row("bar_length_mm", "bar_rise_mm")),
            Fieldset(
                "Free lengths: each longer than the one before",
                Row("cables_mm", "lanyard_mm", "cord_mm"),
            ),
            Fieldset("Cables in a turn", Row("slack_mm", "full_lock_mm", "loop_mm")),
            "lanyard_anchor",
            Row("measured_on", "why"),
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse a rating of a ball mount that is said not to be there."""
        cleaned = super().clean()
        none = cleaned.get("ball_mount") == Combination.BallMount.NONE
        if none and cleaned.get("ball_mount_kg") is not None:
            self.add_error("ball_mount_kg", "There is none, as you say beside this: which is it?")
        return cleaned

    @property
    def columns(self) -> dict[str, Any]:
        """The combination's columns, as the services take them."""
        told = self.cleaned_data
        kept = {name: as_typed(told[name]) for name in STORED_AT if told[name] is not None}
        values = {
            name: told[name].canonical.quantize(places) if name in kept else None
            for name, places in STORED_AT.items()
        }
        rest = {name: told[name] for name in CHOICES}
        if values["ball_mount_kg"] is not None:
            rest["ball_mount"] = Combination.BallMount.THERE
        return {**values, **rest, "as_typed": kept}


def _as_stored(record: Combination, name: str) -> dict[str, str] | None:
    value = getattr(record, name)
    if value is None:
        return None
    unit = "kg" if name.endswith("_kg") else "mm"
    plain = {"number": f"{value.normalize():f}", "unit": unit}
    return record.as_typed.get(name) or plain
