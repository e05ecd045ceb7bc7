"""How long a leg is: the hours that a battery has to last for."""

from django import forms

from vehicles.domain.numbers import NumberError, parse_number

LONGEST_LEG_H = 48


class LegForm(forms.Form):
    """One number of hours, read from the address; unreadable ones are told beside the field."""

    leg = forms.CharField(label="Longest drive, in hours", max_length=12, required=False)

    def clean_leg(self) -> float | None:
        """Return the hours, None where the field was left empty."""
        text = self.cleaned_data["leg"].strip().removesuffix("h").strip()
        if not text:
            return None
        try:
            hours = float(parse_number(text))
        except NumberError as fault:
            raise forms.ValidationError(str(fault)) from fault
        if not 0 < hours <= LONGEST_LEG_H:
            raise forms.ValidationError(f"Give more than 0 and up to {LONGEST_LEG_H} hours.")
        return hours

    @property
    def hours(self) -> float | None:
        """The hours, None where they are not given or cannot be read."""
        return self.cleaned_data.get("leg") if self.is_valid() else None
