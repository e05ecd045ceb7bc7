"""Service rules and the checks that they ask for."""

from typing import Any

from crispy_forms.layout import Fieldset, Row
from django import forms
from django.core.exceptions import ValidationError

from installs.domain.wants import Want, read_wants, wants_of
from installs.models import Check, ComponentKind
from shop.desk.forms.base import RecordForm
from shop.desk.forms.fields import LinesField, chosen
from shop.people.models import Category
from shop.reminders.models import ServiceRule

from .kinds import free_slug

Trigger = ServiceRule.Trigger
# Rules by distance have their columns but cannot be worked out yet, so they are not offered.
TRIGGERS = [choice for choice in Trigger.choices if choice[0] != Trigger.DISTANCE]
RISKS = ((1, "low"), (2, "middling"), (3, "high"))
NOT_COLUMNS = ("version", "once", "reason")
USUAL = ("count_from", "lead_days", "repeat_days", "mails_max", "risk", "category")


def _whole(label: str, least: int, most: int, **kwargs: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most, **kwargs)


class RuleForm(RecordForm):
    """When a look is due, how it is said and how often."""

    name = forms.CharField(label="Name of the rule", max_length=100)
    trigger = forms.ChoiceField(label="It falls due", choices=chosen(TRIGGERS))
    kind = forms.ModelChoiceField(
        label="For parts of this kind",
        queryset=ComponentKind.objects.all(),
        required=False,
        empty_label="no kind: about the vehicle",
    )
    check_asked = forms.ModelChoiceField(
        label="What has to be done",
        queryset=Check.objects.all(),
        required=False,
        empty_label="no check",
        help_text="Only this check, passed, closes what is due.",
    )
    months = _whole("Every … months", 1, 240, required=False)
    years = _whole("… years after the date code", 1, 40, required=False)
    count_from = forms.ChoiceField(label="Counted", choices=ServiceRule.Count.choices)
    lead_days = _whole("First mail … days ahead", 0, 365)
    repeat_days = _whole("Again after … days", 0, 365)
    mails_max = _whole("At most … mails", 0, 20)
    category = forms.ChoiceField(
        label="As what it is said",
        choices=Category.choices,
        help_text="Customers can decline service reminders, never safety notices.",
    )
    risk = forms.TypedChoiceField(
        label="Risk if it is not done",
        choices=RISKS,
        coerce=int,
        help_text="Sorts the desk's list.",
    )
    what = forms.CharField(label="What is due, as the customer reads it", max_length=150)
    why = forms.CharField(label="Why it matters", widget=forms.Textarea({"rows": 3}))
    todo = forms.CharField(label="What to do", widget=forms.Textarea({"rows": 3}))
    basis = forms.CharField(
        label="Where the interval comes from",
        max_length=200,
        required=False,
        help_text="Maker's instructions with edition and page, or: this shop's own practice.",
    )
    active = forms.BooleanField(label="In force", required=False)
    reason = forms.CharField(label="Why this change, for the log", max_length=200, required=False)

    def values_of(self, record: ServiceRule) -> dict[str, Any]:
        """Return the rule as this form shows it."""
        names = [n for n in self.base_fields if n not in NOT_COLUMNS]
        values = {name: getattr(record, name) for name in names}
        return {**values, "kind": record.kind_id, "check_asked": record.check_asked_id}

    def build(self) -> None:
        if self.record is None:
            for name in USUAL:
                self.fields[name].initial = ServiceRule._meta.get_field(name).default
            self.fields["active"].initial = True

    def rows(self) -> list[Any]:
        return [
            "name",
            Fieldset(
                "When",
                Row("trigger", "kind"),
                "check_asked",
                Row("months", "years", "count_from"),
            ),
            Fieldset(
                "How it is said",
                Row("lead_days", "repeat_days", "mails_max"),
                Row("category", "risk"),
            ),
            Fieldset("In the customer's mail", "what", "why", "todo"),
            "basis",
            "active",
            "reason",
        ]

    @property
    def columns(self) -> dict[str, Any]:
        """The rule's columns, as the service takes them."""
        return {n: v for n, v in self.cleaned_data.items() if n not in NOT_COLUMNS}


class CheckForm(RecordForm):
    """A named look at a part."""

    places = {"slug": "name"}

    name = forms.CharField(label="Name", max_length=100, help_text="Breakaway pin test.")
    asks = forms.CharField(
        label="What to look at and measure",
        required=False,
        widget=forms.Textarea({"rows": 5}),
        help_text="Read on the inspection form. Refer to the maker's instructions for the limits.",
    )
    wants = LinesField(
        label="Values that must be given",
        required=False,
        rows=3,
        help_text="One a line, with the least that passes where there is one: "
        "held minutes, at least 15",
    )

    def values_of(self, record: Check) -> dict[str, Any]:
        """Return the check as this form shows it."""
        wants = [want.words for want in wants_of(record.wants)]
        return {"name": record.name, "asks": record.asks, "wants": wants}

    def clean_wants(self) -> list[Want]:
        """Return the values that the check wants."""
        try:
            return read_wants(self.cleaned_data["wants"])
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        twins = Check.objects.filter(name__iexact=cleaned.get("name", ""))
        if twins.exclude(pk=getattr(self.record, "pk", None)).exists():
            self.add_error("name", "There is a check of this name already.")
        return cleaned

    @property
    def slug(self) -> str:
        """A short name that is not in use yet."""
        return free_slug(Check, self.cleaned_data["name"])
