"""The rows of a feed map: terminals, fuses, relays, switches, outlets, and the car's own loads.

Each row class says how it reads a stored element (`read`) and how it writes one (`element`).
`SHAPES` of a class lists its fields with what kind of value each holds; both directions follow
from it, so that a map which is opened and saved unchanged stays the same map.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from django import forms

from .fields import NumberField
from .ports import KNOWN, plain
from .rows import FoldedRow, row_set
from .written import (
    Names,
    read_ground,
    read_points,
    written_ground,
    written_points,
)

LONGEST_NAME = 24
TEXT_MOST = 400
DEMANDS = (("any", "no matter"), ("on", "must be alive"), ("off", "must be at rest"))
# Silence means "no matter", except in tow, where it means that nobody recorded it.
NEEDS = (("", "nothing said"), *DEMANDS, ("not_recorded", "not recorded"))
TOW_NEEDS = (("", "not recorded"), *DEMANDS)
CLOSED = (
    ("unknown", "unknown"),
    ("always", "always"),
    ("pedal", "with the brake pedal"),
    ("lamp_switch", "with the lamp switch"),
    ("reverse", "in reverse"),
)
CONTACTS = (
    ("normally_open", "alive when energised"),
    ("normally_closed", "alive at rest"),
    ("changeover", "changeover, both outputs"),
)
KEY = (("off", "off"), ("acc", "accessory"), ("on", "on"), ("start", "start"))
SEVERITIES = (
    ("WARNING", "WARNING"),
    ("CAUTION", "CAUTION"),
    ("NOTICE", "NOTICE"),
    ("DANGER", "DANGER"),
)
STATES = ("drive", "tow", "breakaway")


def _text(label: str, most: int = TEXT_MOST, **kwargs: Any) -> forms.CharField:
    return forms.CharField(label=label, max_length=most, required=False, **kwargs)


def _amps(label: str) -> NumberField:
    return NumberField(label=label, required=False, above=0, most=1000)


def _one_of(label: str, choices: Any, first: str = "") -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, required=False, initial=first)


def _name(label: str) -> forms.CharField:
    return _text(label, LONGEST_NAME)


def _known() -> forms.ChoiceField:
    return _one_of("How this is known", KNOWN, "assumed")


# How a kind of value is read from a stored element, and written into one (None: left out).
Read = Callable[[Any, Names], Any]
Write = Callable[[Any, Names], Any]


def _same(value: Any, _: Names) -> Any:
    return value


def _filled(value: Any, _: Names) -> Any:
    return value or None


def _float(value: Decimal | None, _: Names) -> float | None:
    return None if value is None else float(value)


def _whole(value: Decimal | None, _: Names) -> int | float | None:
    # A broken number goes on as it is: the map's check says that it must be a whole one.
    if value is None:
        return None
    return int(value) if value == int(value) else float(value)


def _listed(value: str, _: Names) -> list[str] | None:
    return [part.strip() for part in value.split(",") if part.strip()] or None


def _points(value: str, names: Names) -> str | list[str]:
    read = read_points(value, names)
    return read[0] if len(read) == 1 else read


def _points_or_none(value: str, names: Names) -> str | list[str] | None:
    return _points(value, names) if value.strip() else None


TEXT: tuple[Read, Write] = (_same, _filled)
NUMBER: tuple[Read, Write] = (lambda value, _: plain(value), _float)
WHOLE: tuple[Read, Write] = (lambda value, _: plain(value), _whole)
LISTED: tuple[Read, Write] = (lambda value, _: ", ".join(value or ()), _listed)
POINTS: tuple[Read, Write] = (written_points, _points)
MORE_POINTS: tuple[Read, Write] = (
    lambda value, names: written_points(value or (), names),
    _points_or_none,
)
GROUND: tuple[Read, Write] = (
    lambda value, names: written_ground(value or "body", names),
    lambda value, names: read_ground(value or "body", names),
)
FLAG: tuple[Read, Write] = (_same, _filled)


class MapRow(FoldedRow):
    """One element of the map. Its name is what everything else calls it by."""

    SHAPES: Mapping[str, tuple[Read, Write]] = {}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("id"):
            self.add_error("id", "Give it the name that stands on the lid or in the manual.")
        return cleaned

    @classmethod
    def read(cls, element: Mapping[str, Any], names: Names) -> dict[str, Any]:
        """Return a stored element as the values of its row."""
        values = {
            name: read(element[name], names)
            for name, (read, _) in cls.SHAPES.items()
            if name in element
        }
        return {"known": "assumed", **values}

    def element(self, names: Names) -> dict[str, Any]:
        """Return the element in its stored form; the row must be valid."""
        made = {
            name: write(self.cleaned_data[name], names) for name, (_, write) in self.SHAPES.items()
        }
        return {name: value for name, value in made.items() if value is not None}


class TerminalRow(MapRow):
    SHAPES = {
        "id": TEXT, "live_in": FLAG, "timer_minutes": NUMBER, "closed_when": TEXT,
        "feed": TEXT, "conditions": LISTED, "known": TEXT,
    }  # fmt: skip
    rare = ("live_in", "timer_minutes", "closed_when", "feed", "conditions")

    id = _name("Number, DIN 72552")
    known = _known()
    live_in = forms.MultipleChoiceField(
        label="Live with the key at",
        choices=KEY,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: as its number stands for.",
    )
    timer_minutes = NumberField(label="Stays alive after key-off, min", required=False, above=0)
    closed_when = _one_of("Switched", (("", "by the key alone"), *CLOSED))
    feed = _one_of(
        "Taken",
        (
            ("", "behind the disconnect"),
            ("bus", "behind the disconnect (measured)"),
            ("battery", "ahead of the disconnect"),
        ),
    )
    conditions = _text("Only while", help_text="Several parted by commas.")


class FuseRow(MapRow):
    SHAPES = {
        "id": TEXT, "rating_a": NUMBER, "feed": POINTS, "behind": LISTED, "known": TEXT,
        "box": TEXT, "row": WHOLE, "col": WHOLE, "blade": TEXT, "backfeed": MORE_POINTS,
        "wire_ampacity_a": NUMBER, "socket_a": NUMBER,
    }  # fmt: skip
    rare = ("box", "row", "col", "blade", "backfeed", "wire_ampacity_a", "socket_a")

    id = _name("Label")
    rating_a = _amps("Rating, A")
    feed = _text("Fed from")
    behind = _text("What is behind it")
    known = _known()
    box = _text("Box")
    row = NumberField(label="Row", required=False)
    col = NumberField(label="Column", required=False)
    blade = _text("Blade size", 24)
    backfeed = _text("Also reached from")
    wire_ampacity_a = _amps("Wire carries, A")
    socket_a = _amps("Position carries, A")


class RelayRow(MapRow):
    SHAPES = {
        "id": TEXT, "coil": POINTS, "feed": POINTS, "contact": TEXT, "known": TEXT,
        "coil_ground": GROUND,
    }  # fmt: skip
    rare = ("coil_ground",)

    id = _name("Name")
    coil = _text("Coil fed from")
    feed = _text("Contact fed from")
    contact = _one_of("Contact", CONTACTS, "normally_open")
    known = _known()
    coil_ground = _text("Coil returns to", initial="body")


class SwitchRow(MapRow):
    SHAPES = {
        "id": TEXT, "name": TEXT, "feed": POINTS, "closed_when": TEXT, "known": TEXT,
        "conditions": LISTED,
    }  # fmt: skip
    rare = ("conditions",)

    id = _name("Name")
    name = _text("What it is")
    feed = _text("Fed from")
    closed_when = _one_of("Closed", CLOSED, "unknown")
    known = _known()
    conditions = _text("And only while")

    @classmethod
    def read(cls, element: Mapping[str, Any], names: Names) -> dict[str, Any]:
        """As for every row; a switch in the ground side is fed from a ground."""
        values = super().read(element, names)
        if isinstance(element["feed"], str) and ":" not in element["feed"]:
            values["feed"] = written_ground(element["feed"], names)
        return values

    def element(self, names: Names) -> dict[str, Any]:
        """As for every row; a switch in the ground side is fed from a ground."""
        made = super().element(names)
        if isinstance(made["feed"], str) and ":" not in made["feed"]:
            made["feed"] = read_ground(made["feed"], names)
        return made


class OutletRow(MapRow):
    SHAPES = {
        "id": TEXT, "name": TEXT, "feed": POINTS, "rating_a": NUMBER, "known": TEXT,
        "timer_minutes": NUMBER, "conditions": LISTED, "user_can_change": FLAG,
    }  # fmt: skip
    rare = ("timer_minutes", "conditions", "user_can_change")

    id = _name("Name")
    name = _text("Where it is")
    feed = _text("Fed from")
    rating_a = _amps("Rating, A")
    known = _known()
    timer_minutes = NumberField(label="Dies after key left on, min", required=False, above=0)
    conditions = _text("Only while")
    user_can_change = forms.BooleanField(label="The driver can change this", required=False)


class LoadRow(MapRow):
    SHAPES = {
        "id": TEXT, "name": TEXT, "feed": POINTS, "known": TEXT, "ground": GROUND,
        "peak_a": NUMBER, "consequence": TEXT, "severity": TEXT,
    }  # fmt: skip
    rare = ("drive", "breakaway", "ground", "peak_a", "consequence", "severity")

    id = _name("Name")
    name = _text("What it is")
    feed = _text("Fed from")
    tow = _one_of("In tow it", TOW_NEEDS)
    known = _known()
    drive = _one_of("Driving it", NEEDS)
    breakaway = _one_of("Pin pulled, it", NEEDS)
    ground = _text("Returns to", initial="body")
    peak_a = _amps("Peak, A")
    consequence = _text("What follows if not")
    severity = _one_of("How grave", SEVERITIES, "WARNING")

    @classmethod
    def read(cls, element: Mapping[str, Any], names: Names) -> dict[str, Any]:
        """As for every row, with a field for each state's need."""
        needs = dict(element.get("needs") or {})
        if needs.get("tow") == "not_recorded":
            del needs["tow"]
        return {**super().read(element, names), **needs}

    def element(self, names: Names) -> dict[str, Any]:
        """As for every row, with the needs as one object."""
        told = {state: self.cleaned_data[state] for state in STATES}
        needs = {state: need for state, need in told.items() if need}
        made = super().element(names)
        return {**made, "needs": needs} if needs else made


ROWS: dict[str, type[MapRow]] = {
    "terminals": TerminalRow,
    "fuses": FuseRow,
    "relays": RelayRow,
    "switches": SwitchRow,
    "outlets": OutletRow,
    "loads": LoadRow,
}
ROW_SETS = {name: row_set(row, extra=2 if name == "fuses" else 1) for name, row in ROWS.items()}
SORT_OF = {
    "terminals": "terminal",
    "fuses": "fuse",
    "relays": "relay",
    "switches": "switch",
    "outlets": "outlet",
}
