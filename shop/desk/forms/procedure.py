"""A tow procedure's next revision: verdict, steps, limits, and where it was read."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms

from vehicles.domain.faults import Fault
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.mapcheck import validate_procedure
from vehicles.domain.units import Kind, Quantity
from vehicles.models import ProcedureRevision

from .fields import DayField, NumberField, QuantityField, chosen
from .revision import RevisionForm
from .rows import RowSet
from .steps import StepRows, as_row, numbered, respell

# One mile is 1.609344 km exactly (international yard and pound agreement, 1959; from memory).
KM_PER_MILE = Decimal("1.609344")
SOURCES = (
    ("document", "the vehicle maker's document"),
    ("bulletin", "a bulletin"),
    ("measured", "found out on the vehicle, in this shop"),
    ("verbal", "somebody said so"),
    ("customer_says", "the customer says"),
)
PRINTED = ("document", "bulletin")
LIMIT_PLACES = {
    "max_speed_mph": "max_speed",
    "max_distance_mi": "max_distance",
    "engine_run_every_h": "engine_run_every_h",
    "engine_run_minutes": "engine_run_minutes",
}
SOURCE_PLACES = {"kind": "source_kind"}
TEXT_MOST = 400


class ProcedureForm(RevisionForm):
    """The next revision of a procedure. Its source is always entered anew."""

    row_sets = {"steps": StepRows}
    places = {"content": "verdict"}

    verdict = forms.ChoiceField(
        label="Towing on its own four wheels is",
        choices=ProcedureRevision.Verdict.choices,
        widget=forms.RadioSelect,
    )
    source_kind = forms.ChoiceField(
        label="Where this comes from",
        choices=chosen(SOURCES),
        help_text="What somebody says is kept and shown as hearsay; no card is printed from it.",
    )
    title = forms.CharField(label="Title", required=False, max_length=TEXT_MOST)
    edition = forms.CharField(
        label="Edition",
        required=False,
        max_length=TEXT_MOST,
        help_text="Year, number, web or print.",
    )
    page = forms.CharField(label="Page", required=False, max_length=TEXT_MOST)
    read_on = DayField(label="Read or heard on")
    read_by = forms.CharField(label="By", max_length=150)
    max_speed = QuantityField(Kind.SPEED, unit="mph", label="Top speed", required=False)
    max_distance = QuantityField(
        Kind.DISTANCE, unit="mi", label="Longest distance in one go", required=False
    )
    engine_run_every_h = NumberField(
        label="Run the engine every … hours", required=False, above=0, most=1000
    )
    engine_run_minutes = NumberField(label="for … minutes", required=False, above=0, most=600)
    daily_repeat = forms.BooleanField(
        label="All of it again at the start of each day", required=False
    )
    direction = forms.CharField(
        label="Limits in words", required=False, max_length=TEXT_MOST, help_text="Forwards only."
    )
    note = forms.CharField(
        label="Note", required=False, max_length=4000, widget=forms.Textarea({"rows": 3})
    )

    def __init__(
        self, *args: Any, feed_map: FeedMap | None, current: Any, me: str, **kwargs: Any
    ) -> None:
        self.feed_map = feed_map
        first = {**(_as_initial(current.content) if current else {}), "read_by": me}
        super().__init__(*args, current=current, initial=first, **kwargs)

    def _rows(self, name: str) -> RowSet:
        """Let generated words follow a changed fuse before the rows read what was sent."""
        if self.is_bound:
            self.data = respell(self.data, name)
        return super()._rows(name)

    def row_kwargs(self, name: str) -> dict[str, Any]:
        """Give every step the map's fuses to choose from."""
        return {"feed_map": self.feed_map}

    def build(self) -> None:
        self.fields["read_on"].initial = self.fields["read_on"].latest = self.today

    def rows(self) -> list[Any]:
        return [
            "verdict",
            Fieldset(
                "Source of this revision",
                "source_kind",
                Row("title", "edition", "page"),
                Row("read_on", "read_by"),
            ),
            Fieldset(
                "Limits while towed",
                Row("max_speed", "max_distance"),
                Row("engine_run_every_h", "engine_run_minutes"),
                "daily_repeat",
                "direction",
            ),
            "note",
            "why",
        ]

    def clean(self) -> dict[str, Any]:
        """Hold the whole against the feed map; each fault goes beside its field or step."""
        cleaned = super().clean()
        if cleaned.get("source_kind") in PRINTED and not cleaned.get("title"):
            self.add_error("title", "Name the document, so that somebody else finds it again.")
        steps = self.sets["steps"]
        if self.errors or not steps.is_valid():
            return cleaned
        placed = numbered(steps.filled())
        content = self._content(cleaned, [row.step(number) for number, row in placed])
        for fault in validate_procedure(content, self.feed_map):
            self._place(fault, [row for _, row in placed])
        cleaned["content"] = content
        return cleaned

    def _content(self, told: Mapping[str, Any], steps: list[dict[str, Any]]) -> dict[str, Any]:
        source = {"kind": told["source_kind"], "read_on": told["read_on"].isoformat()}
        for name in ("title", "edition", "page", "read_by"):
            if told[name]:
                source[name] = told[name]
        limits: dict[str, Any] = {
            "max_speed_mph": _in_miles(told["max_speed"]),
            "max_distance_mi": _in_miles(told["max_distance"]),
        }
        for name in ("engine_run_every_h", "engine_run_minutes"):
            limits[name] = None if told[name] is None else float(told[name])
        limits = {name: value for name, value in limits.items() if value is not None}
        if told["daily_repeat"]:
            limits["daily_repeat"] = True
        if told["direction"]:
            limits["direction"] = told["direction"]
        made = {"verdict": told["verdict"], "source": source, "steps": steps, "limits": limits}
        return {**made, "note": told["note"]} if told["note"] else made

    def _place(self, fault: Fault, rows: list[Any]) -> None:
        part, _, rest = fault.place.removeprefix("/").partition("/")
        if part == "steps" and rest:
            at, _, place = rest.partition("/")
            row = rows[int(at)]
            field = row.field_of(place.partition("/")[0])
            row.add_error(field if field in row.fields else None, fault.sentence)
            return
        name = {"limits": LIMIT_PLACES, "source": SOURCE_PLACES}.get(part, {}).get(rest, rest)
        name = name or part
        self.add_error(name if name in self.fields else None, fault.sentence)


def _in_miles(quantity: Quantity | None) -> float | None:
    """Return miles, or miles an hour: as typed where typed so, else worked out."""
    if quantity is None:
        return None
    if quantity.unit in ("mph", "mi"):
        return float(quantity.value)
    return float(round(quantity.canonical / KM_PER_MILE, 1))


def _as_initial(content: Mapping[str, Any]) -> dict[str, Any]:
    """Return a stored procedure as this form starts from it. The source is left out."""
    limits = content.get("limits", {})
    speed, distance = limits.get("max_speed_mph"), limits.get("max_distance_mi")
    return {
        "verdict": content["verdict"],
        "note": content.get("note", ""),
        "steps": [as_row(step) for step in content.get("steps", ())],
        "max_speed": {"number": f"{speed:g}", "unit": "mph"} if speed else None,
        "max_distance": {"number": f"{distance:g}", "unit": "mi"} if distance else None,
        **{
            name: f"{limits[name]:g}"
            for name in ("engine_run_every_h", "engine_run_minutes")
            if limits.get(name)
        },
        "daily_repeat": limits.get("daily_repeat", False),
        "direction": limits.get("direction", ""),
    }
