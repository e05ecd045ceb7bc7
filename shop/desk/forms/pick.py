"""Choosing one record among many without a script: type a scrap of it, choose among what fits."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet

from vehicles.domain.normal import tokens

SHOWN = 12


def fitting(rows: QuerySet[Any], scrap: str) -> QuerySet[Any]:
    """Return those of `rows` whose search text holds every piece of `scrap`; none for no scrap."""
    asked = tokens(scrap)
    if not asked:
        return rows.none()
    for token in asked:
        anyform = Q()
        for form in token.forms:
            anyform |= Q(lookup__contains=form)
        rows = rows.filter(anyform)
    return rows


class PickWidget(forms.MultiWidget):
    """A box for the scrap, and the records found for it."""

    use_fieldset = True
    template_name = "desk/records/pick.html"

    def __init__(self) -> None:
        scrap = forms.TextInput({"autocomplete": "off", "spellcheck": "false"})
        super().__init__({"scrap": scrap, "pick": forms.RadioSelect()})

    def decompress(self, value: Any) -> list[Any]:
        """Show a record that is already chosen as the one found."""
        return ["", str(getattr(value, "pk", value) or "")]


class PickField(forms.Field):
    """One record of `rows`; `offered` are shown without being asked for.

    The answer is the record or None. Where the scrap fits exactly one record, that one is taken;
    where it fits several, they are shown and nothing is taken.
    """

    widget = PickWidget

    def __init__(self, *, rows: QuerySet[Any], offered: Any = (), **kwargs: Any) -> None:
        self.all_rows = rows
        super().__init__(widget=PickWidget(), **kwargs)
        self.offer(list(offered))

    def offer(self, records: list[Any]) -> None:
        """Show these records to choose from."""
        self.widget.widgets[1].choices = [(record.pk, record) for record in records]

    def clean(self, value: Any) -> Any:
        """Return the record; raise ValidationError and show what fits where it is not one."""
        scrap, picked = value or ("", "")
        offered = [str(key) for key, _ in self.widget.widgets[1].choices]
        if picked and not (scrap or "").strip():
            return self._by_key(picked)
        if (scrap or "").strip():
            found = list(fitting(self.all_rows, scrap)[: SHOWN + 1])
            self.offer(found[:SHOWN])
            if picked in [str(record.pk) for record in found]:
                return self._by_key(picked)
            return self._only_one(scrap, found)
        if self.required:
            words = "Choose one of these, or type" if offered else "Type"
            raise ValidationError(f"{words} a scrap of it: name, plate, VIN tail, phone.")
        return None

    def _by_key(self, key: str) -> Any:
        record = self.all_rows.filter(pk=key).first() if str(key).isdigit() else None
        if record is None:
            raise ValidationError("This one is not in the records any more; look again.")
        return record

    def _only_one(self, scrap: str, found: list[Any]) -> Any:
        if len(found) == 1:
            return found[0]
        if not found:
            raise ValidationError(f"Nothing in the records fits “{scrap}”.")
        more = " The first of them are shown; type more of it." if len(found) > SHOWN else ""
        raise ValidationError(f"Several fit “{scrap}”: choose one.{more}")
