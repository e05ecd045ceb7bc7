"""What the desk does with one due item: booked for a day, or put off until one."""

from datetime import date
from typing import Any

from django import forms

from shop.reminders.services import AHEAD_MAX


class DayForm(forms.Form):
    """A day to come, and why."""

    day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))
    why = forms.CharField(label="Why", required=False, max_length=200)

    def __init__(self, *args: Any, label: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["day"].label = label
        # What browsers keep to; the services refuse the rest in words.
        ends = {"min": today.isoformat(), "max": (today + AHEAD_MAX).isoformat()}
        self.fields["day"].widget.attrs.update(ends)
