"""What every form of records does alike: places faults, settles clashes, is sent once."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import uuid4

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.core.exceptions import ValidationError
from django.db import models

from .clash import THEIRS, UNSETTLED, ClashRow, ClashView, in_words, last_change, open_names, put
from .rows import RowSet


class RecordForm(forms.Form):
    """A form about one record, with the sets of rows that belong to it.

    `record` is the record as it stands (None for a new one), `values_of(record)` its values as
    this form shows them. `row_sets` names the sets of rows; `places` leads a key of a service's
    ValidationError to a field of another name. `today` bounds days that cannot lie ahead.
    """

    places: Mapping[str, str] = {}
    row_sets: Mapping[str, type[RowSet]] = {}
    row_labels: Mapping[str, str] = {}

    version = forms.IntegerField(required=False, widget=forms.HiddenInput)
    once = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Any = None,
        *,
        today: date,
        record: models.Model | None = None,
        initial: Mapping[str, Any] | None = None,
        **kwargs: Any,
    ) -> None:
        self.record, self.today = record, today
        self.clash: ClashView | None = None
        stands = self.values_of(record) if record is not None else {}
        first = {"once": uuid4().hex, "version": getattr(record, "version", None)}
        super().__init__(data, initial={**first, **stands, **(initial or {})}, **kwargs)
        self.build()
        self._stands, self._pending = stands, self._settle(stands)
        self.sets = {name: self._rows(name) for name in self.row_sets}
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.render_hidden_fields = True
        self.helper.layout = Layout(*self.rows())

    def values_of(self, record: Any) -> dict[str, Any]:
        """Return the record's values by field and set name, as this form shows them."""
        return {}

    def build(self) -> None:
        """Add or narrow fields that hang on the record; nothing by default."""

    def rows(self) -> list[Any]:
        """Return the layout, top to bottom; every visible field in order by default."""
        return [name for name, field in self.fields.items() if not field.widget.is_hidden]

    def row_kwargs(self, name: str) -> dict[str, Any]:
        """Return what each row of this set is made with; nothing by default."""
        return {}

    def _rows(self, name: str) -> RowSet:
        made, given = self.row_sets[name], self.row_kwargs(name)
        if self.is_bound:
            return made(self.data, prefix=name, form_kwargs=given)
        return made(initial=self.initial.get(name) or [], prefix=name, form_kwargs=given)

    # Faults

    def is_valid(self) -> bool:
        """Validate the form and all its rows, so that every fault is told at once."""
        valid = [rows.is_valid() for rows in self.sets.values()]
        return super().is_valid() and all(valid) and not self._row_faults()

    def _row_faults(self) -> bool:
        """Tell whether cleaning the whole put a fault on a row that was right by itself."""
        return any(row.errors for rows in self.sets.values() for row in rows.filled())

    @property
    def has_faults(self) -> bool:
        """True once something has to be put right."""
        return self.is_bound and bool(
            self.errors or any(rows.total_error_count() for rows in self.sets.values())
        )

    def take_faults(self, error: ValidationError) -> None:
        """Put the sentences of a service beside the fields they speak of."""
        if not hasattr(error, "error_dict"):
            self.add_error(None, error)
            return
        for key, faults in error.error_dict.items():
            name = self.places.get(key, key)
            self.add_error(name if name in self.fields else None, faults)

    # Two people on one record

    def take_clash(self, current: Any) -> None:
        """Show both values of whatever differs and expect a choice for each."""
        self.record, self._stands = current, self.values_of(current)
        self.data = self.data.copy()
        self.data[self.add_prefix("version")] = str(current.version)
        self._show_clash([name for name in self._stands if self._differs(name)])
        self.add_error(None, "Somebody else changed this record while you had it open.")

    def clean(self) -> dict[str, Any]:
        """Refuse while a clash is not settled; the rest is for the subclass."""
        cleaned = super().clean() or self.cleaned_data
        if self._pending:
            for name in self._pending:
                self.add_error(name if name in self.fields else None, UNSETTLED)
            self._show_clash(self.data.get("clash", "").split())
        return cleaned

    def _settle(self, stands: Mapping[str, Any]) -> list[str]:
        """Take over the record's value where the person chose it; return what is still open."""
        if not self.is_bound or not self.data.get("clash"):
            return []
        named = [name for name in self.data["clash"].split() if name in stands]
        self.data = self.data.copy()
        for name in named:
            if self.data.get(f"choose-{name}") == THEIRS:
                put(self.data, self._field(name), self.add_prefix(name), stands[name])
        return open_names(self.data, named)

    def _field(self, name: str) -> Any:
        """Return the field of this name, or the class of the set of rows."""
        return self.fields[name] if name in self.fields else self.row_sets[name]

    def _typed(self, name: str) -> Any:
        """Return what was typed, as the widget reads it; for a set the values of its rows."""
        if name in self.sets:
            return [row.cleaned_data for row in self.sets[name].filled() if row.is_valid()]
        widget = self.fields[name].widget
        return widget.value_from_datadict(self.data, self.files, self.add_prefix(name))

    def _differs(self, name: str) -> bool:
        if name in self.fields:
            return self.fields[name].has_changed(self._stands[name], self._typed(name))
        made = self.row_sets[name]
        return in_words(made, self._stands[name]) != in_words(made, self._typed(name))

    def _show_clash(self, names: list[str]) -> None:
        rows = tuple(
            ClashRow(
                name,
                str(self.row_labels.get(name) or self.fields[name].label),
                in_words(self._field(name), self._stands[name]),
                in_words(self._field(name), self._typed(name)),
                self.data.get(f"choose-{name}", ""),
            )
            for name in names
        )
        who, at = last_change(self.record)
        self.clash = ClashView(who, at, rows)
