"""Customers: who they are, how to reach them, and what they agreed to."""

from typing import Any
from zoneinfo import available_timezones

import phonenumbers
from crispy_forms.layout import Fieldset, Row
from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from shop.people.domain.names import LONGEST, capitals_suggestion, name_fault
from shop.people.domain.phones import read_phone
from shop.people.models import Category, Customer
from shop.people.services import PersonLine, Reach

from .base import RecordForm
from .fields import LinesField
from .rows import row_set

LANGUAGES = (("en", "English"), ("es", "Spanish"), ("fr", "French"), ("de", "German"))
ADDRESS_MOST = 254


def checked_name(name: str) -> str:
    """Return the name as given; raise ValidationError with the reason where it cannot be one."""
    fault = name_fault(name)
    if fault:
        raise ValidationError(fault)
    return name.strip()


class PersonRow(forms.Form):
    """Somebody who belongs to the customer."""

    name = forms.CharField(
        label="Name", max_length=LONGEST, required=False, help_text="One word is enough."
    )
    called = forms.CharField(label="What to call them", max_length=80, required=False)
    part = forms.CharField(
        label="Part they play", max_length=80, required=False, help_text="Husband, driver, office."
    )
    hooks_up = forms.BooleanField(label="Hooks up the vehicle", required=False)

    def clean_name(self) -> str:
        return checked_name(self.cleaned_data["name"])


PersonRows = row_set(PersonRow, extra=1)


class CustomerForm(RecordForm):
    """A customer with persons, phones and addresses."""

    row_sets = {"persons": PersonRows}
    row_labels = {"persons": "Contact persons"}

    name = forms.CharField(
        label="Name",
        max_length=LONGEST,
        strip=False,
        help_text="A person or a business, written as they write it. One word is enough.",
    )
    called = forms.CharField(
        label="What to call them",
        max_length=80,
        required=False,
        help_text="How a mail greets them. Empty: by the name above.",
    )
    phones = LinesField(
        label="Phones",
        required=False,
        rows=3,
        help_text="One a line, as they gave it: 303 555 0187, with an extension 303 555 0187 x7.",
    )
    emails = LinesField(
        label="E-mail addresses",
        required=False,
        rows=2,
        help_text="One a line. Without one, reminders go to the desk's list instead.",
    )
    address = forms.CharField(
        label="Postal address",
        required=False,
        widget=forms.Textarea({"rows": 3}),
        help_text="In free lines, as it stands on an envelope.",
    )
    country = forms.CharField(
        label="Country",
        max_length=2,
        initial="US",
        help_text="Two letters: US, CA, MX. Phones without a plus sign are read as from there.",
    )
    language = forms.ChoiceField(label="Language", choices=LANGUAGES, initial="en")
    time_zone = forms.ChoiceField(
        label="Time zone", required=False, help_text="Mails keep to the quiet hours there."
    )
    business_use = forms.BooleanField(label="Tows for business", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 3}))

    def values_of(self, record: Customer) -> dict[str, Any]:
        """Return the customer as this form shows it."""
        plain = ("name", "called", "address", "country", "language", "time_zone", "note")
        return {
            **{name: getattr(record, name) for name in plain},
            "business_use": record.business_use,
            "phones": [phone.typed for phone in record.phones.all()],
            "emails": [email.address for email in record.emails.all()],
            "persons": list(record.persons.values("name", "called", "part", "hooks_up")),
        }

    def build(self) -> None:
        """Offer the zones of the world, the shop's first."""
        zones = sorted(zone for zone in available_timezones() if "/" in zone)
        self.fields["time_zone"].choices = [
            ("", f"as the shop's, {settings.SHOP_TIME_ZONE}"),
            *((zone, zone) for zone in zones),
        ]

    def rows(self) -> list[Any]:
        return [
            Row("name", "called"),
            Row("phones", "emails"),
            "address",
            Row("country", "language", "time_zone"),
            Fieldset("Besides", "business_use", "note"),
        ]

    def clean_name(self) -> str:
        return checked_name(self.cleaned_data["name"])

    def clean_country(self) -> str:
        country = self.cleaned_data["country"].upper()
        if country not in phonenumbers.SUPPORTED_REGIONS:
            raise ValidationError(f"“{country}” is not the two-letter code of a country.")
        return country

    def clean_emails(self) -> list[str]:
        addresses: list[str] = self.cleaned_data["emails"]
        faults = [fault for address in addresses for fault in _address_faults(address)]
        if faults:
            raise ValidationError(faults)
        return addresses

    def clean(self) -> dict[str, Any]:
        """Read the phones, once the country is known."""
        cleaned = super().clean()
        country = cleaned.get("country") or "US"
        for typed in cleaned.get("phones") or ():
            fault = read_phone(typed, country=country).fault
            if fault:
                self.add_error("phones", f"“{typed}”: {fault}")
        return cleaned

    @property
    def changes(self) -> dict[str, Any]:
        """The customer's own fields, as the services take them."""
        other = {"version", "once", "phones", "emails"}
        return {name: value for name, value in self.cleaned_data.items() if name not in other}

    @property
    def reach(self) -> Reach:
        """Persons, phones and addresses, as the services take them."""
        rows = (row.cleaned_data for row in self.sets["persons"].filled())
        return Reach(
            persons=[
                PersonLine(row["name"], row["called"], row["part"], row["hooks_up"]) for row in rows
            ],
            phones=self.cleaned_data["phones"],
            emails=self.cleaned_data["emails"],
        )

    def notes(self) -> list[str]:
        """Return what is odd and does not block."""
        offered = capitals_suggestion(self.cleaned_data["name"])
        said = [f"The name is all in capitals. If they write it {offered}, change it."] * bool(
            offered
        )
        phones = (
            read_phone(typed, country=self.cleaned_data["country"])
            for typed in self.cleaned_data["phones"]
        )
        return said + [f"{phone.typed}: {phone.note}" for phone in phones if phone.note]


def _address_faults(address: str) -> list[str]:
    try:
        validate_email(address)
    except ValidationError:
        return [f"“{address}” is not an e-mail address; one a line, like name@mail.example."]
    if len(address) > ADDRESS_MOST:
        return [f"“{address[:40]}…” is longer than an address can be."]
    return []


class ConsentForm(RecordForm):
    """What the customer said about one category of messages."""

    # Safety notices cannot be declined, so they are not asked about.
    category = forms.ChoiceField(
        label="About",
        choices=[choice for choice in Category.choices if choice[0] != Category.SAFETY],
        widget=forms.RadioSelect,
        help_text="Not asked about: notices of a fault that endangers people. They always go.",
    )
    allowed = forms.ChoiceField(
        label="They said",
        choices=(("yes", "yes, write to me"), ("no", "no, do not")),
        widget=forms.RadioSelect,
    )
    how = forms.CharField(
        label="How they said it", max_length=100, help_text="By phone on 3 May, at the counter."
    )
