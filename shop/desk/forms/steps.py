"""The steps of a tow procedure as rows: what is done, to which fuse, and what undoes it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from vehicles.domain.feedmap import FeedMap
from vehicles.domain.mapcheck import STEP_VALUES
from vehicles.domain.numbers import NumberError, parse_number
from vehicles.domain.stepwords import respelled

from .fields import NumberField
from .points import feed_choices, fuse_choices
from .rows import FoldedRow, row_set

# One list instead of an action and a value, so that no pair can be chosen that does not exist.
ACTIONS = (
    ("", "choose"),
    (
        "Key",
        (
            ("key:removed", "key: off and out"),
            ("key:off", "key: off, left in"),
            ("key:acc", "key: accessory"),
            ("key:on", "key: on"),
            ("key:start", "key: start"),
            ("key:unknown", "key: the source names no position"),
        ),
    ),
    (
        "Power",
        (
            ("fuse_out", "pull a fuse"),
            ("disconnect_open", "open the battery disconnect, leg as on the feed map"),
            ("disconnect_open:positive", "open the battery disconnect, positive leg"),
            ("disconnect_open:negative", "open the battery disconnect, negative leg"),
            ("charge_connect", "connect the coach's charge line"),
            ("lamp_switch:off", "lamp switch: off"),
            ("lamp_switch:on", "lamp switch: on"),
            ("lamp_switch:auto", "lamp switch: auto"),
        ),
    ),
    (
        "Gearbox and brake",
        (
            ("gear", "selector to …, position"),
            ("transfer_case", "transfer case to …, position"),
            ("parking_brake:set", "parking brake: set"),
            ("parking_brake:release", "parking brake: release"),
        ),
    ),
    (
        "Time",
        (
            ("engine_run", "run the engine … minutes"),
            ("wait", "wait … minutes"),
        ),
    ),
    ("Else", (("other", "something else, in words"),)),
)
MINUTES = ("engine_run", "wait")
POSITIONS = ("gear", "transfer_case")
FIELDS = {
    "no": "no",
    "target": "fuse",
    "text": "text",
    "after": "after",
    "needs_live": "needs_live",
}
TEXT_MOST = 400


class StepRow(FoldedRow):
    """One step. `feed_map` gives the fuses and points to choose from; None: there is no map yet."""

    rare = ("text", "after", "needs_live")

    no = NumberField(label="Number", required=False, above=0, most=999)
    do = forms.ChoiceField(label="What is done", choices=ACTIONS, required=False)
    fuse = forms.CharField(label="Which fuse", required=False, max_length=24)
    detail = forms.CharField(label="Position or minutes", required=False, max_length=40)
    text = forms.CharField(
        label="In the source's words",
        required=False,
        max_length=TEXT_MOST,
        help_text="Empty: spelled out from the above.",
    )
    reverse = forms.CharField(label="What undoes it", required=False, max_length=TEXT_MOST)
    after = forms.CharField(
        label="Only after steps", required=False, max_length=60, help_text="3 or 3, 4"
    )
    needs_live = forms.CharField(label="Needs power at", required=False)
    # The fuse that the page showed, so that a change of it is seen.
    was = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, feed_map: FeedMap | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.feed_map = feed_map
        stands = [str(self[name].value() or "") for name in ("fuse", "needs_live")]
        if feed_map is not None and feed_map.fuses:
            # A list to choose from, and yet no closed one: what the map lacks is refused with
            # the list of its fuses, which says more than "not a valid choice".
            also = [stands[0]] if stands[0] else []
            choices = [("", "none"), *fuse_choices(feed_map, also=also)]
            self.fields["fuse"].widget = forms.Select(choices=choices)
        points = feed_choices(feed_map or FeedMap(), also=stands[1])
        live = [choice for choice in points if choice[0] not in ("unknown", "own")]
        self.fields["needs_live"].widget = forms.Select(choices=[("", "nothing"), *live])

    def has_changed(self) -> bool:
        """Tell whether the row holds something that a person wrote."""
        return bool({*self.changed_data} - {"was"})

    def clean_after(self) -> list[int]:
        """Read the numbers of the steps that must come before."""
        words = self.cleaned_data["after"].replace(",", " ").split()
        if not all(word.isdecimal() for word in words):
            raise ValidationError("Write the numbers of steps, like 3 or 3, 4.")
        return list(dict.fromkeys(int(word) for word in words))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("do"):
            self.add_error("do", "Choose what is done in this step, or remove the row.")
        elif cleaned["do"] in MINUTES and cleaned.get("detail"):
            try:
                cleaned["detail"] = float(parse_number(cleaned["detail"], grouped=False))
            except NumberError as fault:
                self.add_error("detail", str(fault))
        return cleaned

    def step(self, number: int) -> dict[str, Any]:
        """Return the step in its stored form; the row must be valid."""
        told = self.cleaned_data
        action, _, value = told["do"].partition(":")
        made: dict[str, Any] = {"no": number, "action": action}
        if value or told["detail"]:
            made["value"] = value or told["detail"]
        for name, field in (("target", "fuse"), ("text", "text"), ("reverse", "reverse"),
                            ("after", "after"), ("needs_live", "needs_live")):  # fmt: skip
            if told[field]:
                made[name] = told[field]
        return made

    def field_of(self, place: str) -> str:
        """Return the field that a fault at this place of the step belongs to."""
        if place == "value":
            return "detail" if self.cleaned_data["do"] in (*MINUTES, *POSITIONS) else "do"
        return FIELDS.get(place, place)


StepRows = row_set(StepRow, extra=2)


def as_row(step: Mapping[str, Any]) -> dict[str, Any]:
    """Return a stored step as the values of its row."""
    action, value = step["action"], step.get("value")
    chosen = f"{action}:{value}" if action in STEP_VALUES and value else action
    shown = f"{value:g}" if isinstance(value, int | float) else value or ""
    return {
        "no": Decimal(step["no"]),
        "do": chosen,
        "fuse": step.get("target", ""),
        "was": step.get("target", ""),
        "detail": "" if action in STEP_VALUES else shown,
        "text": step.get("text", ""),
        "reverse": step.get("reverse", ""),
        "after": ", ".join(map(str, step.get("after", ()))),
        "needs_live": step.get("needs_live", ""),
    }


def respell(data: Any, prefix: str) -> Any:
    """Return posted data in which words spelled out from a fuse follow it when it is changed.

    `was` is the fuse that the page showed; it is brought up to date, for the page may come back.
    """
    anew = data.copy()
    for name in data:
        row = name.removesuffix("-was")
        if not (name.startswith(f"{prefix}-") and name.endswith("-was")):
            continue
        now = data.get(f"{row}-fuse", "").strip()
        words = {field: data.get(f"{row}-{field}", "") for field in ("text", "reverse")}
        for field, said in words.items():
            anew[f"{row}-{field}"] = respelled(said, was=data[name], now=now)
        anew[name] = now
    return anew


def numbered(rows: list[StepRow]) -> list[tuple[int, StepRow]]:
    """Put rows in the order of their numbers and return each with its number.

    Numbers stay as written; blank ones follow the highest. Where somebody wrote a number between
    two others, all are counted anew and what they name as earlier steps is led to the new numbers.
    """
    given = [row.cleaned_data["no"] for row in rows]
    last = max((number for number in given if number is not None), default=Decimal(0))
    placed = []
    for number, row in zip(given, rows, strict=True):
        if number is None:
            last += 1
        placed.append((last if number is None else number, row))
    placed.sort(key=lambda pair: pair[0])
    if all(number == int(number) for number, _ in placed):
        return [(int(number), row) for number, row in placed]
    anew = {number: new for new, (number, _) in enumerate(placed, 1)}
    for _, row in placed:
        row.cleaned_data["after"] = [anew.get(Decimal(n), n) for n in row.cleaned_data["after"]]
    return [(new, row) for new, (_, row) in enumerate(placed, 1)]
