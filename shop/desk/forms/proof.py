"""Proof and inspection: what was measured and seen, with nothing filled in beforehand."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from urllib.parse import quote

from crispy_forms.bootstrap import AppendedText
from crispy_forms.layout import Fieldset, Row
from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxLengthValidator

from installs.domain.measured import ALIVE_VOLTS, Measured, Wanted, proof_faults
from installs.domain.wants import value_faults, wants_of
from installs.models import Check, Fitting, Inspection
from shop.reminders.reads import kinds_of_checks
from vehicles.models import Vehicle

from .base import RecordForm
from .fields import DayField, LinesField, NumberField, chosen

STATES = {"drive": "driving", "tow": "tow state", "tow+pedal": "tow state, pedal pressed"}
DEMANDS = {"on": "must be alive", "off": "must be at rest"}
MOST_MINUTES = 10_000
CHANGED_MEANWHILE = (
    "The procedure or the wiring changed while you measured, so nothing was signed. Look at what "
    "differs, carry the procedure out as it stands now, and measure again."
)


class ProveForm(RecordForm):
    """One row for each value that the proof must hold.

    `stands` is the fingerprint of what the rows were made for. It travels with the page: what was
    typed into a page of an older state is shown again, each value at its own port and state, but
    it cannot be signed.
    """

    fingerprint = forms.CharField(required=False, max_length=100, widget=forms.HiddenInput)
    proven_on = DayField(label="Measured on")
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))
    measured_so = forms.BooleanField(
        label="I measured these values on this vehicle, with the procedure carried out as it "
        "stands in the records.",
        error_messages={"required": "Whoever signs has to say so."},
    )

    def __init__(
        self,
        *args: Any,
        wanted: Sequence[Wanted],
        stands: str,
        alive_volts: float = ALIVE_VOLTS,
        **kwargs: Any,
    ) -> None:
        self.wanted, self.stands, self.alive_volts = wanted, stands, alive_volts
        super().__init__(*args, initial={"fingerprint": stands}, **kwargs)

    def build(self) -> None:
        """Make volts, and minutes where the key is off, for each wanted value."""
        self.fields["proven_on"].initial = self.fields["proven_on"].latest = self.today
        signing = {name: self.fields.pop(name) for name in ("proven_on", "note", "measured_so")}
        for want in self.wanted:
            self.fields[_input("volts", want)] = NumberField(
                label="Volts at the port",
                required=False,
                signed=True,
                help_text=f"{STATES.get(want.state, want.state)}: {DEMANDS[want.demand]}",
            )
            if want.state != "drive":
                self.fields[_input("minutes", want)] = NumberField(
                    label="Minutes since key-off",
                    required=False,
                    most=MOST_MINUTES,
                    help_text=f"counts from {want.earliest_minutes:g} min on",
                )
        self.fields.update(signing)

    def rows(self) -> list[Any]:
        return [
            *(self._row(number, want) for number, want in enumerate(self.wanted)),
            Fieldset("Signing", "proven_on", "note", "measured_so"),
        ]

    def _row(self, number: int, want: Wanted) -> Fieldset:
        # The label holds a part's name as somebody typed it, and a legend is read as a template.
        legend = f"{{{{ form.wanted.{number}.label }}}}"
        fields = [AppendedText(_input("volts", want), "V")]
        if want.state != "drive":
            fields.append(AppendedText(_input("minutes", want), "min"))
        return Fieldset(legend, Row(*fields))

    @property
    def measured(self) -> list[Measured]:
        """The readings as the proof takes them; a blank stays unknown."""
        return [
            Measured(
                want.component,
                want.port,
                want.state,
                _number(self.cleaned_data.get(_input("volts", want))),
                _number(self.cleaned_data.get(_input("minutes", want))),
            )
            for want in self.wanted
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse what proves nothing: missing, too early or wrong, each beside its field."""
        cleaned = super().clean()
        if cleaned.get("fingerprint") != self.stands:
            self._measured_something_else()
            return cleaned
        measured = self.measured
        faults = proof_faults(self.wanted, measured, alive_volts=self.alive_volts)
        for want, reading in zip(self.wanted, measured, strict=True):
            sentence = faults.get(want.key, "").removeprefix(f"{want.label}: ")
            name = _input(_to_blame(want, reading), want)
            if sentence and name not in self.errors:
                self.add_error(name, sentence[0].upper() + sentence[1:])
        return cleaned

    def _measured_something_else(self) -> None:
        """Refuse, and show the page as it must be measured now: not yet signed again."""
        self.data = self.data.copy()
        self.data["fingerprint"] = self.stands
        self.data.pop("measured_so", None)
        self.add_error(None, CHANGED_MEANWHILE)


def _input(what: str, want: Wanted) -> str:
    """Name the input of a value by what is measured, for a row's number can come to mean another.

    Quoted, for a name may hold a space, which an HTML id must not.
    """
    return ":".join((what, *(quote(part, safe="") for part in want.key)))


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _to_blame(want: Wanted, reading: Measured) -> str:
    """Name the input that the fault of a reading is about."""
    early = reading.minutes_since_key_off
    if reading.volts is None or want.state == "drive":
        return "volts"
    return "minutes" if early is None or early < want.earliest_minutes else "volts"


class InspectForm(RecordForm):
    """One look at a fitted part, or at the vehicle as a whole."""

    places = {"check_done": "check"}

    fitting = forms.ModelChoiceField(
        label="Part", queryset=Fitting.objects.none(), required=False, empty_label="the vehicle"
    )
    check = forms.ModelChoiceField(
        label="What was looked at", queryset=Check.objects.all(), empty_label="choose"
    )
    done_on = DayField(label="Done on")
    result = forms.ChoiceField(
        label="What came of it",
        choices=chosen(Inspection.Result.choices),
        help_text="Not passed: due at once, until the next good look.",
    )
    values = LinesField(
        label="What was measured",
        required=False,
        rows=3,
        help_text="One a line, with a colon: hold time: 12 min",
    )
    elsewhere = forms.BooleanField(label="Done elsewhere, not in this shop", required=False)
    by = forms.CharField(
        label="By whom",
        max_length=150,
        required=False,
        help_text="Empty: by you. Done elsewhere: who did it, as far as told.",
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))

    def __init__(self, *args: Any, vehicle: Vehicle, **kwargs: Any) -> None:
        self.vehicle = vehicle
        super().__init__(*args, **kwargs)

    def build(self) -> None:
        self.fields["done_on"].initial = self.fields["done_on"].latest = self.today
        current = Fitting.objects.current().filter(vehicle=self.vehicle)
        field = self.fields["fitting"]
        field.queryset = current.select_related("component__kind").order_by("id")
        field.label_from_instance = lambda fitting: str(fitting.component)
        self.made_at = kinds_of_checks()
        checks = self.fields["check"]
        self.offered = Check.objects.filter(pk__in=self._offered(field.queryset))
        checks.queryset = self.offered
        checks.label_from_instance = self._named

    def _offered(self, fittings: Iterable[Fitting]) -> list[int]:
        """Return the checks of the part that was chosen before, else of all parts here."""
        given = str(self.initial.get("fitting") or "")
        there = {str(fitting.pk): fitting.component.kind_id for fitting in fittings}
        kinds = {there[given]} if given in there and not self.is_bound else set(there.values())
        every = Check.objects.values_list("pk", flat=True)
        return [pk for pk in every if pk not in self.made_at or kinds & self.made_at[pk].keys()]

    def _named(self, check: Check) -> str:
        """Return a check with the kinds of part that it is made at."""
        kinds = ", ".join(self.made_at.get(check.pk, {}).values())
        return f"{check} ({kinds})" if kinds else str(check)

    def rows(self) -> list[Any]:
        return [
            Row("fitting", "check"),
            Row("done_on", "result"),
            "values",
            Row("by"),
            "elsewhere",
            "note",
        ]

    def clean_values(self) -> dict[str, str]:
        """Return what was measured by name."""
        told: dict[str, str] = {}
        for line in self.cleaned_data["values"]:
            name, colon, value = line.partition(":")
            if not colon or not name.strip() or not value.strip():
                raise ValidationError(f"“{line}”: write what, a colon, and the value.")
            if name.strip() in told:
                raise ValidationError(f"“{name.strip()}” is there twice.")
            told[name.strip()] = value.strip()
        return told

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        fitting, done, check = (cleaned.get(name) for name in ("fitting", "done_on", "check"))
        kinds = self.made_at.get(check.pk, {}) if check else {}
        if kinds and "fitting" not in self.errors:
            self._fits(check, fitting, kinds)
        if check and "values" in cleaned:
            wants = wants_of(check.wants)
            for fault in value_faults(wants, cleaned["values"], cleaned.get("result", "")):
                self.add_error("values", fault)
        if fitting and done and done < fitting.since:
            self.add_error("done_on", f"This part was fitted on {fitting.since}, after that day.")
        if cleaned.get("elsewhere") and not cleaned.get("by"):
            self.add_error("by", "Say who did it, or who told you.")
        return cleaned

    def _fits(self, check: Check, fitting: Fitting | None, kinds: Mapping[int, str]) -> None:
        """Refuse a check at a part that it is not made at: it would say nothing of that part."""
        made_at = " or ".join(kinds.values())
        if fitting is None:
            self.add_error("fitting", f"“{check}” is made at: {made_at}. Choose that part.")
        elif fitting.component.kind_id not in kinds:
            self.add_error(
                "check", f"“{check}” is made at: {made_at}, and not at {fitting.component}."
            )


class OutsideWorkForm(RecordForm):
    """Somebody else worked on brakes or wiring."""

    told = forms.CharField(
        label="What was done, by whom and when",
        widget=forms.Textarea({"rows": 4}),
        validators=[MaxLengthValidator(1000)],
        help_text="As told: new stop-lamp switch at a roadside garage, 3 May.",
    )
