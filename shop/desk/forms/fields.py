"""Fields that read what people in this trade type: numbers, quantities with a unit, days."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from vehicles.domain.numbers import NumberError, parse_number
from vehicles.domain.units import Kind, Quantity, UnitError, parse, unit_choices

UNCHOSEN = ("", "choose")


class DayField(forms.DateField):
    """A day of the shop's calendar. `latest` refuses days after it, `earliest` days before it."""

    def __init__(
        self, *, latest: date | None = None, earliest: date | None = None, **kwargs: Any
    ) -> None:
        self.latest, self.earliest = latest, earliest
        kwargs.setdefault("widget", forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**kwargs)
        self.error_messages["invalid"] = "Write the day as year-month-day, like 2026-03-14."

    def validate(self, value: date | None) -> None:
        """Refuse a day outside the bounds, with the bound in the sentence."""
        super().validate(value)
        if value and self.latest and value > self.latest:
            raise ValidationError(f"{value} is still to come; today is {self.latest}.")
        if value and self.earliest and value < self.earliest:
            raise ValidationError(f"This cannot be before {self.earliest}.")


class NumberField(forms.CharField):
    """A plain number; the answer is a Decimal or None. A comma is asked about, never guessed."""

    def __init__(
        self, *, signed: bool = False, above: int | None = None, most: int | None = None, **kw: Any
    ) -> None:
        self.signed, self.above, self.most = signed, above, most
        kw.setdefault("widget", forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**kw)

    def clean(self, value: Any) -> Decimal | None:
        """Return the number; raise ValidationError with a sentence."""
        text = super().clean(value)
        if not text:
            return None
        try:
            number = parse_number(text, grouped=False, signed=self.signed)
        except NumberError as fault:
            raise ValidationError(str(fault)) from fault
        if self.above is not None and number <= self.above:
            raise ValidationError(f"This must be more than {self.above}.")
        if self.most is not None and number > self.most:
            raise ValidationError(f"This must be at most {self.most}.")
        return number

    def prepare_value(self, value: Any) -> Any:
        """Show a stored number without needless decimals; what was typed stays as typed."""
        return f"{value:f}" if isinstance(value, Decimal) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare numbers, not spellings."""
        try:
            typed = self.clean(data)
        except ValidationError:
            return True
        known = None if initial in (None, "") else Decimal(str(initial))
        return typed != known


class QuantityWidget(forms.MultiWidget):
    """A number, and its unit from a list."""

    use_fieldset = True

    def __init__(self, kind: Kind, unit: str) -> None:
        self.unit = unit
        number = forms.TextInput(
            {"inputmode": "decimal", "autocomplete": "off", "aria-label": "number"}
        )
        super().__init__([number, forms.Select({"aria-label": "unit"}, unit_choices(kind))])

    def decompress(self, value: Any) -> list[str]:
        """Part what is stored (`number` and `unit` as typed) into the two inputs."""
        if not value:
            return ["", self.unit]
        return [str(value.get("number", "")), str(value.get("unit") or self.unit)]


class QuantityField(forms.Field):
    """A quantity of one kind; the answer is a `Quantity` or None. `unit` is chosen at first."""

    def __init__(self, kind: Kind, *, unit: str, **kwargs: Any) -> None:
        self.kind = kind
        super().__init__(widget=QuantityWidget(kind, unit), **kwargs)

    def clean(self, value: Sequence[str | None] | None) -> Quantity | None:
        """Return the quantity; raise ValidationError with a sentence."""
        number, unit = ((value or ["", ""])[0] or "").strip(), (value or ["", ""])[1]
        if not number:
            if self.required:
                raise ValidationError(self.error_messages["required"], code="required")
            return None
        try:
            return parse(self.kind, number, unit or None)
        except UnitError as fault:
            raise ValidationError(str(fault)) from fault

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare quantities, not spellings."""
        try:
            typed = self.clean(data)
            known = self.clean(self.widget.decompress(initial))
        except ValidationError:
            return True
        return (typed and typed.canonical) != (known and known.canonical)


class GaugeWidget(forms.MultiWidget):
    """A wire's gauge, and by which measure it is given."""

    use_fieldset = True
    measures = (("awg", "AWG"), ("mm2", "mm²"))

    def __init__(self) -> None:
        number = forms.TextInput(
            {"inputmode": "decimal", "autocomplete": "off", "aria-label": "number"}
        )
        super().__init__([number, forms.Select({"aria-label": "measure"}, self.measures)])

    def decompress(self, value: Any) -> list[str]:
        """Part `{"awg": 12}` into the two inputs."""
        name, number = next(iter((value or {"awg": None}).items()))
        return ["" if number is None else f"{number:g}", name]


class GaugeField(forms.Field):
    """A wire's gauge; the answer is `{"awg": 12.0}`, `{"mm2": 2.5}` or {}."""

    widget = GaugeWidget

    def clean(self, value: Sequence[str | None] | None) -> dict[str, float]:
        """Return the gauge; raise ValidationError with a sentence."""
        number, measure = (value or ["", "awg"])[:2]
        if not (number or "").strip():
            return {}
        if measure not in dict(GaugeWidget.measures):
            raise ValidationError("Choose AWG or mm².")
        try:
            return {str(measure): float(parse_number(str(number), grouped=False))}
        except NumberError as fault:
            raise ValidationError(str(fault)) from fault

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare numbers, not spellings."""
        try:
            return self.clean(data) != (initial or {})
        except ValidationError:
            return True


def as_typed(quantity: Quantity | None) -> dict[str, str] | None:
    """Return the form in which a quantity is kept beside its canonical value."""
    return {"number": quantity.typed, "unit": quantity.unit} if quantity else None


class LinesField(forms.CharField):
    """Several texts, one a line; the answer is a list without blank lines and doubles."""

    def __init__(self, *, rows: int = 3, **kwargs: Any) -> None:
        super().__init__(widget=forms.Textarea({"rows": rows}), **kwargs)

    def clean(self, value: Any) -> list[str]:
        """Return the lines, trimmed."""
        text = super().clean(value)
        lines = (" ".join(line.split()) for line in text.splitlines())
        return list(dict.fromkeys(line for line in lines if line))

    def prepare_value(self, value: Any) -> Any:
        """Show a list as lines."""
        return "\n".join(value) if isinstance(value, list | tuple) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare line by line."""
        return list(initial or []) != self.clean(data or "")


def chosen(
    choices: Iterable[tuple[str, str]], *, first: tuple[str, str] | None = UNCHOSEN
) -> list[tuple[str, str]]:
    """Return choices for a list from which nothing is chosen beforehand."""
    rest = [(value, label) for value, label in choices if value != ""]
    return [first, *rest] if first else rest
