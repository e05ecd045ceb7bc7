"""Accounts of the people who work here."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from shop.desk.forms.base import RecordForm
from shop.desk.forms.customer import checked_name
from shop.people.models import User

ROLES = [("", "choose"), *User.Role.choices]
HELP = "Desk keeps the records; a technician records feeds, proofs and inspections; the owner both."


class PersonForm(RecordForm):
    """A new account."""

    places = {"first_name": "name"}

    name = forms.CharField(
        label="Name", max_length=150, help_text="As it stands in the log and on proofs."
    )
    username = forms.CharField(label="Name to sign in with", max_length=150)
    email = forms.EmailField(label="E-mail address", max_length=254)
    role = forms.ChoiceField(label="Role", choices=ROLES, help_text=HELP)
    password = forms.CharField(
        label="First password",
        strip=False,
        required=False,
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
        help_text="At least 12 characters. Empty: they set one by the link on the sign-in page.",
    )

    def clean_name(self) -> str:
        return checked_name(self.cleaned_data["name"])

    def clean_email(self) -> str:
        """Refuse an address that somebody else signs in with."""
        email: str = self.cleaned_data["email"]
        others = User.objects.filter(email__iexact=email)
        if others.exclude(pk=getattr(self.record, "pk", None)).exists():
            raise ValidationError("Somebody else signs in with this address.")
        return email

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        if password:
            validate_password(password)
        return password


class PersonChangeForm(PersonForm):
    """Somebody's role, address, or whether they may sign in."""

    is_active = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Without the tick they are out at their next click. Their entries stay.",
    )
    why = forms.CharField(label="Why, for the log", max_length=200, required=False)

    def values_of(self, record: User) -> dict[str, Any]:
        """Return the account as this form shows it."""
        return {
            "name": record.first_name,
            "email": record.email,
            "role": record.role,
            "is_active": record.is_active,
        }

    def build(self) -> None:
        # The name to sign in with stays; a password is each person's own to change.
        del self.fields["username"], self.fields["password"]

    @property
    def columns(self) -> dict[str, Any]:
        """The account's columns, as the service takes them."""
        told = self.cleaned_data
        return {
            "first_name": told["name"],
            "email": told["email"],
            "role": told["role"],
            "is_active": told["is_active"],
        }
