"""Kinds of part: what each port needs in each state, and what the part would cure."""

import re
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms
from django.db import models
from django.utils.text import slugify

from installs.domain.findings import Code
from installs.domain.sheet import validate_kind
from installs.models import ComponentKind
from shop.desk.forms.base import RecordForm
from shop.desk.forms.fields import NumberField
from shop.desk.forms.map_rows import NEEDS, SEVERITIES, TOW_NEEDS
from shop.desk.forms.ports import in_trade, plain
from shop.desk.forms.rows import FoldedRow, row_set
from vehicles.domain.faults import Fault

STATES = ("drive", "tow", "breakaway")
CURABLE = (
    (Code.NO_POWER, "no power where it is needed"),
    (Code.TIMED_POWER, "power that ends after a while"),
    (Code.CONDITIONAL_POWER, "power on a condition only"),
    (Code.STAYS_AWAKE, "something stays awake that must rest"),
    (Code.SUPPLY_TOO_SMALL, "a supply that is too small"),
    (Code.FUSE_OVERLOADED, "an overloaded fuse"),
)
SLUG_MOST = 40
AMPS = ("min_supply_a", "standby_a", "working_a", "peak_a")
COLUMNS = ("name", "role", "duty", "cure_text", "life_years", "life_basis", "wears", "note")


def _demand(label: str, choices: tuple[tuple[str, str], ...] = NEEDS) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, required=False)


def _amps(label: str) -> NumberField:
    return NumberField(label=label, required=False, above=0, most=1000)


def free_slug(model: type[models.Model], name: str) -> str:
    """Return `name` in small letters, digits and underscores, numbered where it is taken."""
    base = slugify(name).replace("-", "_")
    base = re.sub(r"^[^a-z]+", "", base)[: SLUG_MOST - 3] or "other"
    rows = model._default_manager.filter(slug__startswith=base)
    taken = set(rows.values_list("slug", flat=True))
    numbered = (f"{base}_{number}" for number in range(2, len(taken) + 3))
    return next(slug for slug in (base, *numbered) if slug not in taken)


class PortRow(FoldedRow):
    """One port of a kind."""

    rare = (
        "pedal_drive", "pedal_tow", "pedal_breakaway", "min_supply_a", "standby_a", "working_a",
        "peak_a", "consequence",
    )  # fmt: skip

    name = forms.CharField(label="Port", max_length=40, required=False)
    drive = _demand("Driving")
    tow = _demand("In tow", TOW_NEEDS)
    breakaway = _demand("Pin pulled")
    severity = forms.ChoiceField(
        label="How grave if not", choices=SEVERITIES, required=False, initial="WARNING"
    )
    pedal_drive = _demand("Driving, pedal pressed")
    pedal_tow = _demand("In tow, pedal pressed")
    pedal_breakaway = _demand("Pin pulled, pedal pressed")
    min_supply_a = _amps("Smallest supply, A")
    standby_a = _amps("Standby, A")
    working_a = _amps("Working, A")
    peak_a = _amps("Peak, A")
    consequence = forms.CharField(label="What follows if not", max_length=400, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        words = (cleaned.get("name") or "").strip().casefold()
        cleaned["name"] = re.sub(r"[\s-]+", "_", words)
        if not words:
            self.add_error("name", "Name the port: supply, ground sense, stop signal.")
        return cleaned

    def port(self) -> dict[str, Any]:
        """Return the port in its stored form; the row must be valid."""
        told = self.cleaned_data
        made: dict[str, Any] = {"name": told["name"]}
        made["demand"] = {state: told[state] for state in STATES if told[state]}
        pedal = {state: told[f"pedal_{state}"] for state in STATES if told[f"pedal_{state}"]}
        if pedal:
            made["with_pedal"] = pedal
        made |= {name: float(told[name]) for name in AMPS if told[name] is not None}
        if told["consequence"]:
            made["consequence"] = told["consequence"]
        return {**made, "severity": told["severity"] or "WARNING"}


PortRows = row_set(PortRow, extra=1)


def as_row(port: dict[str, Any]) -> dict[str, Any]:
    """Return a stored port as the values of its row."""
    pedal = {f"pedal_{state}": need for state, need in port.get("with_pedal", {}).items()}
    demand = dict(port.get("demand", {}))
    if demand.get("tow") == "not_recorded":
        del demand["tow"]
    return {
        "name": in_trade(port["name"]),
        **demand,
        **pedal,
        **{name: plain(port.get(name)) for name in AMPS},
        "consequence": port.get("consequence", ""),
        "severity": port.get("severity", "WARNING"),
    }


class KindForm(RecordForm):
    """A kind of part. What it needs decides about every vehicle that carries one."""

    row_sets = {"ports": PortRows}
    row_labels = {"ports": "Ports"}
    places = {"slug": "name"}

    name = forms.CharField(label="Name", max_length=80)
    role = forms.ChoiceField(
        label="Its place in the tow chain",
        choices=ComponentKind.Role.choices,
        required=False,
        help_text="The tow sheet puts parts of this kind there, with the rating of each.",
    )
    duty = forms.ChoiceField(
        label="What hangs on it",
        choices=[("", "not recorded"), *ComponentKind.Duty.choices],
        required=False,
        help_text="Decides whether a vehicle may be towed once one of these failed. While it is "
        "not recorded, a failed one blocks the proof.",
    )
    cures = forms.MultipleChoiceField(
        label="Fitting one cures",
        choices=CURABLE,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    cure_text = forms.CharField(
        label="How it cures",
        max_length=300,
        required=False,
        help_text="Shown with the cure: what it is connected to and how.",
    )
    life_years = NumberField(label="Life in years", required=False, above=0, most=99)
    life_basis = forms.CharField(
        label="Where that figure comes from", max_length=200, required=False
    )
    wears = forms.CharField(label="What wears", required=False, widget=forms.Textarea({"rows": 2}))
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))
    why = forms.CharField(label="Why this change, for the log", max_length=200, required=False)

    def values_of(self, record: ComponentKind) -> dict[str, Any]:
        """Return the kind as this form shows it."""
        return {
            **{name: getattr(record, name) for name in COLUMNS},
            "cures": list(record.cures),
            "ports": [as_row(port) for port in record.ports],
        }

    def rows(self) -> list[Any]:
        return [
            "name",
            Row("role", "duty"),
            Fieldset("What it can cure", "cures", "cure_text"),
            Fieldset("Life and wear", Row("life_years", "life_basis"), "wears"),
            "note",
            "why",
        ]

    def clean(self) -> dict[str, Any]:
        """Check the ports as a whole; each fault goes beside its field."""
        cleaned = super().clean()
        if cleaned.get("life_years") is not None and not cleaned.get("life_basis"):
            self.add_error("life_basis", "Say where the figure comes from, or leave it out.")
        twins = ComponentKind.objects.filter(name__iexact=cleaned.get("name", ""))
        if twins.exclude(pk=getattr(self.record, "pk", None)).exists():
            self.add_error("name", "There is a kind of this name already.")
        rows = self.sets["ports"]
        if self.errors or not rows.is_valid():
            return cleaned
        cleaned["ports"] = [row.port() for row in rows.filled()]
        document = {name: cleaned[name] for name in ("name", "ports", "cures")}
        for fault in validate_kind(document):
            self._place(fault)
        return cleaned

    def _place(self, fault: Fault) -> None:
        part, _, rest = fault.place.removeprefix("/").partition("/")
        at, _, place = rest.partition("/")
        if part != "ports" or not at:
            self.add_error(part if part in self.fields else None, fault.sentence)
            return
        row = self.sets["ports"].filled()[int(at)]
        group, _, state = place.partition("/")
        field = {"demand": state, "with_pedal": f"pedal_{state}"}.get(group, group)
        row.add_error(field if field in row.fields else None, fault.sentence)

    @property
    def columns(self) -> dict[str, Any]:
        """The kind's columns, as the services take them."""
        values = {name: self.cleaned_data[name] for name in (*COLUMNS, "cures", "ports")}
        if values["life_years"] is not None:
            values["life_years"] = values["life_years"].quantize(Decimal("0.1"))
        return values

    @property
    def slug(self) -> str:
        """A short name for sheets that is not in use yet."""
        return free_slug(ComponentKind, self.cleaned_data["name"])
