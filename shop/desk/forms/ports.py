"""What each port of a fitted part hangs on: one group of fields for each port of its kind."""

from collections.abc import Mapping
from typing import Any

from crispy_forms.bootstrap import AppendedText
from crispy_forms.layout import Fieldset, Row
from django import forms

from installs.domain.ports import Kind as PartKind
from installs.domain.ports import KindPort
from installs.domain.sheet import validate_ports
from installs.models import ComponentKind
from installs.reads import kind_document
from vehicles.domain.faults import Fault
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.units import Kind
from vehicles.models import FeedMapRevision, Vehicle

from .base import RecordForm
from .fields import GaugeField, NumberField, QuantityField
from .points import feed_choices, ground_choices

KNOWN = (
    ("assumed", "assumed: nobody has checked"),
    ("document", "recorded at the work: seen and followed"),
    ("measured", "measured with a meter"),
)
STATES = (("drive", "driving"), ("tow", "in tow"), ("breakaway", "with the pin pulled"))
MM_PER_M = 1000
UNKNOWN_ENDS = "unknown unknown"
PORT_FIELDS = ("feed", "ground", "in_slot", "own_fuse_a", "gauge", "length", "known")
# What each field of a port is called in the stored form; the wire is an object of its own.
PLACES = {"wire/awg": "gauge", "wire/mm2": "gauge", "wire/length_m": "length", "wire": "gauge"}


class PortsForm(RecordForm):
    """A form with the ports of one kind of part on one vehicle. Everything starts as unknown."""

    def __init__(self, *args: Any, kind: ComponentKind, vehicle: Vehicle, **kwargs: Any) -> None:
        self.kind = PartKind.from_dict(kind_document(kind), code=kind.slug)
        current = FeedMapRevision.objects.in_force_for(vehicle)
        self.feed_map = FeedMap.from_dict(current.content if current else {})
        super().__init__(*args, **kwargs)

    def port_values(self, ports: Mapping[str, Any]) -> dict[str, Any]:
        """Return stored ports as values of this form's fields."""
        values: dict[str, Any] = {}
        for port in self.kind.ports:
            known = ports.get(port.name, {})
            wire = known.get("wire") or {}
            length = wire.get("length_m")
            told = {
                "feed": known.get("feed", "unknown"),
                "ground": known.get("ground", "unknown"),
                "in_slot": known.get("in_slot", False),
                "own_fuse_a": plain(known.get("own_fuse_a")),
                "gauge": {name: wire[name] for name in ("awg", "mm2") if name in wire},
                "length": {"number": plain(length), "unit": "m"} if length else None,
                "known": known.get("known", "document" if known else "assumed"),
            }
            values |= {f"{port.name}__{name}": value for name, value in told.items()}
        return values

    def build(self) -> None:
        """Make the fields of each port."""
        for port in self.kind.ports:
            feed, ground = (self.initial.get(f"{port.name}__{n}", "") for n in ("feed", "ground"))
            made: dict[str, forms.Field] = {
                "feed": forms.CharField(
                    label="Fed from",
                    required=False,
                    empty_value="unknown",
                    initial="unknown",
                    widget=forms.Select(choices=feed_choices(self.feed_map, also=feed)),
                    help_text=demand_in_words(port),
                ),
                "ground": forms.CharField(
                    label="Returns to",
                    required=False,
                    empty_value="unknown",
                    initial="unknown",
                    widget=forms.Select(choices=ground_choices(self.feed_map, also=ground)),
                ),
                "own_fuse_a": NumberField(label="Its own fuse", required=False, above=0, most=1000),
                "in_slot": forms.BooleanField(
                    label="The tap sits in the fuse's own slot and comes out with the fuse",
                    required=False,
                ),
                "gauge": GaugeField(label="Wire gauge", required=False),
                "length": QuantityField(
                    Kind.LENGTH, unit="ft", label="Wire length", required=False
                ),
                "known": forms.ChoiceField(
                    label="How this is known",
                    required=False,
                    choices=KNOWN,
                    initial="assumed",
                    help_text="What is only assumed counts as unknown and blocks the proof.",
                ),
            }
            self.fields.update({f"{port.name}__{name}": made[name] for name in made})
            if self.record is not None:
                self.fields[f"{port.name}__opened"] = forms.CharField(
                    required=False, widget=forms.HiddenInput, initial=self._stored_as(port.name)
                )

    def port_rows(self) -> list[Any]:
        """Return the layout of all ports."""
        return [self._port_row(port.name) for port in self.kind.ports]

    def _port_row(self, name: str) -> Fieldset:
        return Fieldset(
            f"Port: {in_trade(name)}",
            Row(f"{name}__feed", f"{name}__ground"),
            f"{name}__in_slot",
            Row(AppendedText(f"{name}__own_fuse_a", "A"), f"{name}__known"),
            Row(f"{name}__gauge", f"{name}__length"),
        )

    def clean(self) -> dict[str, Any]:
        """Hold the ports against the kind and the feed map, each fault beside its field."""
        cleaned = super().clean()
        if not self.errors:
            cleaned["ports"] = self._ports(cleaned)
            for fault in validate_ports(cleaned["ports"], self.kind, self.feed_map):
                self._place(fault)
        if not self.errors and self.record is not None:
            self._rewired(cleaned)
        return cleaned

    def _rewired(self, cleaned: Mapping[str, Any]) -> None:
        """Ask anew how a new feed or ground is known, and why a wire was laid elsewhere.

        What was measured at the old feed says nothing about the new one. Where the answer was
        left as the form showed it, it goes back to assumed and the person chooses again; the
        hidden field keeps what the form showed, so that the same answer counts when chosen anew.
        """
        laid_elsewhere = False
        for port in self.kind.ports:
            ends, known = _ends_and_known(cleaned, port.name)
            stored_known, _, stored_ends = self._stored_as(port.name).partition(" ")
            if ends == stored_ends:
                continue
            laid_elsewhere |= stored_ends != UNKNOWN_ENDS
            shown = cleaned[f"{port.name}__opened"] or f"{stored_known} {stored_ends}"
            shown_known, _, shown_ends = shown.partition(" ")
            if ends != shown_ends and known == shown_known and known != "assumed":
                self._ask_anew(port.name, ends)
        if laid_elsewhere and not cleaned.get("why"):
            self.add_error("why", "Say why feed or ground changed: rewired, or recorded wrongly.")

    def _ask_anew(self, port: str, ends: str) -> None:
        self.add_error(
            f"{port}__known",
            "Feed or ground changed: what was known of the old one does not hold for the new one. "
            "It is back at assumed; choose again how the new one is known.",
        )
        self.data = self.data.copy()
        self.data[self.add_prefix(f"{port}__known")] = "assumed"
        self.data[self.add_prefix(f"{port}__opened")] = f"assumed {ends}"

    def _stored_as(self, port: str) -> str:
        """Return how a port stands in the record: `measured fuse:F21 body`."""
        values = self.port_values(self.record.ports)
        ends, known = _ends_and_known(values, port)
        return f"{known} {ends}"

    def _ports(self, cleaned: Mapping[str, Any]) -> dict[str, Any]:
        ports = {}
        for port in self.kind.ports:
            told = {name: cleaned[f"{port.name}__{name}"] for name in PORT_FIELDS}
            made = _stored(told)
            if made:
                ports[port.name] = made
        return ports

    def _place(self, fault: Fault) -> None:
        port, _, rest = fault.place.removeprefix("/").partition("/")
        name = f"{port}__{PLACES.get(rest, rest)}"
        self.add_error(name if name in self.fields else None, fault.sentence)


def _ends_and_known(values: Mapping[str, Any], port: str) -> tuple[str, str]:
    """Return feed and ground of a port in one text, and how they are known."""
    feed, ground, known = (values[f"{port}__{name}"] for name in ("feed", "ground", "known"))
    return f"{feed} {ground}", known


def _stored(told: Mapping[str, Any]) -> dict[str, Any]:
    """Return one port in the form of `PortFeed`; {} where nothing is known of it."""
    made: dict[str, Any] = {"feed": told["feed"], "ground": told["ground"]}
    if told["in_slot"]:
        made["in_slot"] = True
    if told["own_fuse_a"] is not None:
        made["own_fuse_a"] = float(told["own_fuse_a"])
    wire = dict(told["gauge"])
    if told["length"] is not None:
        wire["length_m"] = float(told["length"].canonical / MM_PER_M)
    if wire:
        made["wire"] = wire
    if made == {"feed": "unknown", "ground": "unknown"}:
        return {}
    return {**made, "known": told["known"]}


def plain(number: Any) -> str:
    """Return a stored number without needless decimals."""
    return "" if number is None else f"{number:g}"


def in_trade(name: str) -> str:
    """Return a port's name as words: `stop_signal` is read as stop signal."""
    return name.replace("_", " ")


def demand_in_words(port: KindPort) -> str:
    """Say what a port demands: `Must be alive in tow; at rest driving.`"""
    told = []
    for state, words in STATES:
        wanted = {"on": "alive", "off": "at rest"}.get(port.wants(state))
        if wanted:
            told.append(f"{wanted} {words}")
        elif port.wants(state) == "not_recorded":
            told.append(f"not recorded what it needs {words}")
    return f"Must be {'; '.join(told)}." if told else ""
