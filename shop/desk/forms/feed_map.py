"""A feed map's next revision: what has power from where, row by row."""

from collections.abc import Mapping
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms

from vehicles.domain.faults import Fault
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.mapcheck import validate_feed_map

from .fields import NumberField
from .map_rows import ROW_SETS, ROWS, SORT_OF
from .ports import KNOWN, plain
from .revision import RevisionForm
from .written import Names

YES_NO = (("", "not recorded"), ("yes", "yes"), ("no", "no"))
LEGS = (
    ("", "not recorded"),
    ("none", "there is none"),
    ("positive", "there is one, in the positive leg"),
    ("negative", "there is one, in the negative leg"),
)
LANDS = (
    ("", "there is none"),
    ("battery_side", "it lands on the battery's side of the disconnect"),
    ("load_side", "it lands on the car's side of the disconnect"),
)
LINE_GROUNDS = (
    ("unknown", "unknown"),
    ("body", "body of the car"),
    ("battery_post", "battery, negative post"),
    ("none", "no ground through the line"),
)
CHARGE = {
    "lands": "charge_lands",
    "ground": "charge_ground",
    "rating_a": "charge_rating_a",
    "conditions": "charge_conditions",
    "known": "charge_known",
}
TRUTH = {"yes": True, "no": False}


class FeedMapForm(RevisionForm):
    """The next revision of a feed map. A new row starts as assumed, which counts as unknown."""

    row_sets = ROW_SETS
    places = {"content": "why"}

    disconnect = forms.ChoiceField(label="Battery disconnect", choices=LEGS, required=False)
    charge_lands = forms.ChoiceField(
        label="Charge line from the coach", choices=LANDS, required=False
    )
    charge_ground = forms.ChoiceField(
        label="Its ground lands on", choices=LINE_GROUNDS, required=False, initial="unknown"
    )
    charge_rating_a = NumberField(label="Its fuse, A", required=False, above=0, most=1000)
    charge_conditions = forms.CharField(
        label="Alive only while",
        required=False,
        max_length=400,
        help_text="Coach ignition on, solenoid closed. Several parted by commas.",
    )
    charge_known = forms.ChoiceField(
        label="How the line is known", choices=KNOWN, required=False, initial="assumed"
    )
    electric_parking_brake = forms.ChoiceField(
        label="Electric parking brake", choices=YES_NO, required=False
    )
    automatic_lamps = forms.ChoiceField(
        label="Lamps come on by themselves", choices=YES_NO, required=False
    )

    def __init__(self, *args: Any, current: Any, **kwargs: Any) -> None:
        first = as_initial(current.content) if current else {}
        super().__init__(*args, current=current, initial=first, **kwargs)

    def rows(self) -> list[Any]:
        return [
            "why",
            Fieldset("Battery and coach", Row("disconnect", "charge_lands"),
                     Row("charge_ground", "charge_known"),
                     Row("charge_rating_a", "charge_conditions")),
            Row("electric_parking_brake", "automatic_lamps"),
        ]  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Check the map as a whole; each fault goes beside its field."""
        cleaned = super().clean()
        if self.errors or not all(rows.is_valid() for rows in self.sets.values()):
            return cleaned
        filled = {name: rows.filled() for name, rows in self.sets.items()}
        names = {
            sort: [row.cleaned_data["id"] for row in filled[name]] for name, sort in SORT_OF.items()
        }
        content = {**_lists(filled, names), **self._besides(cleaned)}
        for fault in validate_feed_map(content):
            self._place(fault, filled)
        if not self.errors:
            cleaned["content"] = content
        return cleaned

    def _besides(self, told: Mapping[str, Any]) -> dict[str, Any]:
        made: dict[str, Any] = {}
        if told["disconnect"]:
            made["disconnect"] = {"leg": told["disconnect"]}
        if told["charge_lands"]:
            line: dict[str, Any] = {
                "lands": told["charge_lands"],
                "ground": told["charge_ground"] or "unknown",
                "known": told["charge_known"] or "assumed",
            }
            if told["charge_rating_a"] is not None:
                line["rating_a"] = float(told["charge_rating_a"])
            parts = [part.strip() for part in told["charge_conditions"].split(",") if part.strip()]
            made["charge_line"] = {**line, "conditions": parts} if parts else line
        for name in ("electric_parking_brake", "automatic_lamps"):
            if told[name]:
                made[name] = TRUTH[told[name]]
        return made

    def _place(self, fault: Fault, filled: Mapping[str, list[Any]]) -> None:
        part, _, rest = fault.place.removeprefix("/").partition("/")
        at, _, place = rest.partition("/")
        if part in filled and at:
            row = filled[part][int(at)]
            field = place.partition("/")[0]
            row.add_error(field if field in row.fields else None, fault.sentence)
        elif part == "charge_line":
            self.add_error(CHARGE.get(rest.partition("/")[0], "charge_lands"), fault.sentence)
        else:
            self.add_error(part if part in self.fields else None, fault.sentence)


def _lists(filled: Mapping[str, list[Any]], names: Names) -> dict[str, Any]:
    written = {name: [row.element(names) for row in rows] for name, rows in filled.items()}
    return {name: elements for name, elements in written.items() if elements}


def as_initial(content: Mapping[str, Any]) -> dict[str, Any]:
    """Return a stored map as this form starts from it."""
    whole = FeedMap.from_dict(content).to_dict()
    names = {
        sort: [element["id"] for element in whole.get(name, ())] for name, sort in SORT_OF.items()
    }
    first: dict[str, Any] = {
        name: [row.read(_with_defaults(element), names) for element in whole.get(name, ())]
        for name, row in ROWS.items()
    }
    line = whole.get("charge_line")
    if line is not None:
        first |= {
            "charge_lands": line.get("lands", "load_side"),
            "charge_ground": line.get("ground", "unknown"),
            "charge_rating_a": plain(line.get("rating_a")),
            "charge_conditions": ", ".join(line.get("conditions", ())),
            "charge_known": line.get("known", "assumed"),
        }
    if "disconnect" in whole:
        first["disconnect"] = whole["disconnect"].get("leg", "none")
    for name in ("electric_parking_brake", "automatic_lamps"):
        if name in whole:
            first[name] = "yes" if whole[name] else "no"
    return first


def _with_defaults(element: Mapping[str, Any]) -> dict[str, Any]:
    """Fill in what the stored form leaves out because it is the default."""
    return {"feed": "", "coil": "unknown", **element}
