"""One limit, table or choice: its value in its unit, where it is from, and why it changes."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms
from django.core.exceptions import ValidationError

from shop.desk.forms.base import RecordForm
from shop.desk.forms.fields import DayField, LinesField, NumberField, QuantityField, as_typed
from vehicles.domain.inputs import InputError
from vehicles.domain.limit_set import Form, Setting, checked
from vehicles.domain.numbers import NumberError, parse_number
from vehicles.domain.units import RULES, Kind, Quantity
from vehicles.models import LimitVersion

# The units of limits that are quantities; any other is a plain number in its unit.
KINDS = {
    "V": Kind.VOLTAGE,
    "A": Kind.CURRENT,
    "Ω": Kind.RESISTANCE,
    "°C": Kind.TEMPERATURE,
    "mm": Kind.LENGTH,
}
ENDS = (("value", "Value"), ("low", "At least"), ("high", "At most"))
MOST_ROWS = 40


class LimitForm(RecordForm):
    """A new version of a limit. `setting` is how it stands now."""

    source = forms.CharField(
        label="Where it is from",
        max_length=200,
        help_text="Standard, maker's paper, or: common practice, no source.",
    )
    edition = forms.CharField(label="Edition and page", max_length=100, required=False)
    from_memory = forms.BooleanField(
        label="From memory: nobody looked it up yet",
        required=False,
        help_text="It is shown as “from memory, confirm” wherever it is used.",
    )
    recheck_on = DayField(label="Look at it again on", required=False)
    why = forms.CharField(label="Why it changes, for the log", max_length=200)

    def __init__(self, *args: Any, setting: Setting, **kwargs: Any) -> None:
        self.setting, self.kind = setting, KINDS.get(setting.unit)
        first = {"source": setting.source, "edition": setting.edition,
                 "from_memory": setting.from_memory, **self._value_of()}  # fmt: skip
        super().__init__(*args, initial=first if kwargs.get("record") is None else None, **kwargs)

    def values_of(self, record: LimitVersion) -> dict[str, Any]:
        """Return the version as this form shows it; the reason is asked anew each time."""
        names = ("source", "edition", "from_memory", "recheck_on")
        shown = checked(record.code, record.content)
        told = {name: getattr(record, name) for name in names}
        return told | self._value_of(shown) | (record.typed if self.kind else {})

    def _value_of(self, setting: Setting | None = None) -> dict[str, Any]:
        it = setting or self.setting
        if it.form is Form.CHOICE:
            return {"choice": it.choice}
        if it.form is Form.TABLE:
            return {"rows": [f"{x:g}: {y:g}" for x, y in it.rows]}
        if it.band is None:
            return {}
        ends = {"value": it.band.value}
        if not it.band.certain:
            ends |= {"low": it.band.low, "high": it.band.high}
        numbers = {name: Decimal(f"{value:.9g}") for name, value in ends.items()}
        if self.kind is None:
            return dict(numbers)
        unit = RULES[self.kind].canonical
        return {name: {"number": f"{n:f}", "unit": unit} for name, n in numbers.items()}

    def build(self) -> None:
        """Put the fields of the value in front, as the setting asks for them."""
        rest = dict(self.fields)
        self.fields.clear()
        self.fields.update(self._value_fields())
        self.fields.update(rest)

    def _value_fields(self) -> dict[str, forms.Field]:
        it = self.setting
        if it.form is Form.CHOICE:
            return {"choice": forms.ChoiceField(label="Choice", choices=it.choices)}
        if it.form is Form.TABLE:
            columns = f"{it.x_unit}: {it.unit}"
            return {
                "rows": LinesField(
                    rows=10, label=f"Rows, {columns}",
                    help_text="One row a line, first column rising: two numbers and a colon.",
                )
            }  # fmt: skip
        return {name: self._number(name, label) for name, label in ENDS}

    def _number(self, name: str, label: str) -> forms.Field:
        hints = {"low": "Empty: no doubt about the value.", "high": ""}
        told: dict[str, Any] = {"required": name == "value", "help_text": hints.get(name, "")}
        if self.kind is not None:
            unit = RULES[self.kind].canonical
            return QuantityField(self.kind, unit=unit, label=label, **told)
        unit = f", {self.setting.unit}" if self.setting.unit else ""
        return NumberField(label=f"{label}{unit}", signed=True, **told)

    def rows(self) -> list[Any]:
        if self.setting.form is Form.BAND:
            value: list[Any] = [Row("value", "low", "high")]
        else:
            value = ["rows" if self.setting.form is Form.TABLE else "choice"]
        return [
            *value,
            Fieldset("Where it is from", Row("source", "edition"), "from_memory", "recheck_on"),
            "why",
        ]

    def clean_rows(self) -> list[tuple[float, float]]:
        """Return the rows as pairs; raise with the line that is none."""
        found: list[tuple[float, float]] = []
        for line in self.cleaned_data["rows"]:
            first, colon, second = line.partition(":")
            if not colon:
                raise ValidationError(f"“{line}”: write two numbers with a colon between them.")
            try:
                pair = (parse_number(first, signed=True), parse_number(second, signed=True))
            except NumberError as fault:
                raise ValidationError(f"“{line}”: {fault}") from fault
            found.append((float(pair[0]), float(pair[1])))
        if len(found) > MOST_ROWS:
            raise ValidationError(f"At most {MOST_ROWS} rows.")
        return found

    def clean(self) -> dict[str, Any]:
        """Refuse a value that cannot be, beside its field."""
        cleaned = super().clean()
        for end, _ in ENDS:
            if _is_rounded(cleaned.get(end)):
                self.add_error(end, "This is finer than can be kept in mΩ. Write it in Ω.")
        if self.errors:
            return cleaned
        try:
            checked(self.setting.code, self.content)
        except InputError as fault:
            name = fault.field if fault.field in self.fields else None
            self.add_error(name, f"{fault.reason[:1].upper()}{fault.reason[1:]}")
        return cleaned

    @property
    def content(self) -> dict[str, Any]:
        """The value as it is stored."""
        told = self.cleaned_data
        if self.setting.form is Form.CHOICE:
            return {"choice": told["choice"]}
        if self.setting.form is Form.TABLE:
            return {"rows": [list(row) for row in told["rows"]]}
        ends = {name: told.get(name) for name, _ in ENDS}
        value = _figure(ends["value"])
        return {n: value if end is None else _figure(end) for n, end in ends.items()}

    @property
    def typed(self) -> dict[str, Any]:
        """What was typed for quantities, kept beside the value."""
        told = {name: self.cleaned_data.get(name) for name, _ in ENDS}
        return {n: as_typed(it) for n, it in told.items() if isinstance(it, Quantity)}


def _is_rounded(value: Any) -> bool:
    """Would a resistance in milliohms lose digits on its way to ohms?"""
    if not isinstance(value, Quantity) or value.unit != "mohm":
        return False
    return value.canonical * 1000 != value.value


def _figure(value: Quantity | Decimal | None) -> float:
    """A number as typed where its unit is the canonical one: rounding would lose small ohms."""
    if isinstance(value, Quantity):
        exact = value.unit == RULES[value.kind].canonical
        return float(value.value if exact else value.canonical)
    return float(value or 0)
