"""Taking in a vehicle sheet: one JSON file, and whose vehicle it is."""

from typing import Any
from uuid import uuid4

from django import forms

from installs.domain.sheet_text import SheetTextError, read_sheet_text

LARGEST_BYTES = 1_000_000
TOO_LARGE = "This file is larger than any vehicle sheet: at most 1 MB."


def _mark() -> str:
    return uuid4().hex


class SheetForm(forms.Form):
    """`cleaned_data["document"]` holds the parsed JSON; `once` tells a form sent twice."""

    once = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput, initial=_mark)
    file = forms.FileField(
        label="Vehicle sheet", help_text="A JSON file, as the page of a vehicle gives it."
    )
    since = forms.DateField(
        label="Theirs since",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Counts for parts too, where the sheet does not say. Empty: today.",
    )

    def clean_file(self) -> Any:
        """Read the file as JSON, or say what is wrong with it and where."""
        upload = self.cleaned_data["file"]
        if upload.size > LARGEST_BYTES:
            raise forms.ValidationError(TOO_LARGE)
        try:
            text = upload.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise forms.ValidationError(
                "This file is no text in UTF-8, so it is no sheet."
            ) from error
        try:
            self.cleaned_data["document"] = read_sheet_text(text)
        except SheetTextError as error:
            raise forms.ValidationError(f"This file {error}") from error
        return upload
