"""Two people had one record open: what differs, in words, and the choice that settles it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db import models

from vehicles.models import Event

from .rows import MOST_ROWS, RowSet

THEIRS, MINE = "theirs", "mine"
NOTHING = "nothing"
UNSETTLED = "Somebody else wrote another value meanwhile: choose above which one holds."


@dataclass(frozen=True)
class ClashRow:
    """One field on which two people differ, both values in words."""

    name: str
    label: str
    theirs: str
    mine: str
    choice: str = ""


@dataclass(frozen=True)
class ClashView:
    """What a person needs in order to choose: who changed it, when, and what differs."""

    who: str
    at: datetime | None
    rows: tuple[ClashRow, ...]

    @property
    def names(self) -> str:
        """The names of what differs, as the form carries them along."""
        return " ".join(row.name for row in self.rows)


def last_change(record: models.Model | None) -> tuple[str, datetime | None]:
    """Return who changed the record last, and when, as the log has it."""
    if record is None:
        return "", None
    last = Event.objects.filter(subject_type=record._meta.model_name, subject_id=record.pk).first()
    return (last.actor, last.at) if last else ("", None)


def open_names(data: Mapping[str, Any], names: Sequence[str]) -> list[str]:
    """Return those of `names` for which nobody chose yet."""
    return [name for name in names if data.get(f"choose-{name}") not in (THEIRS, MINE)]


def in_words(field: Any, value: Any) -> str:
    """Return a value as a person reads it, whether stored or typed.

    `field` is a form field, or the class of a set of rows; `value` is then a list of rows.
    """
    if isinstance(field, type) and issubclass(field, RowSet):
        return "; ".join(_row_in_words(field.form.base_fields, row) for row in value) or NOTHING
    if isinstance(field.widget, forms.MultiWidget):
        parts = value if isinstance(value, list) else field.widget.decompress(value)
        return " ".join(str(part) for part in parts if part) if parts and parts[0] else NOTHING
    if isinstance(field, forms.BooleanField):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return "; ".join(map(str, value)) or NOTHING
    if isinstance(field.widget, forms.Select):
        return _label(field.widget.choices, str(getattr(value, "pk", value) or "")) or NOTHING
    return str(field.prepare_value(value) or "") or NOTHING


def _label(choices: Any, chosen: str) -> str:
    """Return the label of what is chosen, also from a list in groups; itself where it has none."""
    for key, label in choices:
        if isinstance(label, list | tuple):
            found = _label(label, chosen)
            if found != chosen:
                return found
        elif str(getattr(key, "value", key)) == chosen:
            return str(label)
    return chosen


def _row_in_words(fields: Mapping[str, forms.Field], row: Mapping[str, Any]) -> str:
    filled = [(name, field) for name, field in fields.items() if row.get(name)]
    return ", ".join(
        str(field.label).lower() if isinstance(field, forms.BooleanField) else words
        for name, field in filled
        for words in [in_words(field, row[name])]
    )


def put(data: Any, field: Any, html_name: str, value: Any) -> None:
    """Write a stored value into posted data, as if the person had typed it."""
    if isinstance(field, type) and issubclass(field, RowSet):
        _put_rows(data, field, html_name, value)
    elif isinstance(field.widget, forms.MultiWidget):
        parts = field.widget.decompress(value)
        for suffix, part in zip(field.widget.widgets_names, parts, strict=True):
            data[html_name + suffix] = part
    elif isinstance(field, forms.MultipleChoiceField):
        data.setlist(html_name, list(value or ()))
    elif isinstance(field, forms.BooleanField):
        data.pop(html_name, None)
        if value:
            data[html_name] = "on"
    else:
        shown = field.prepare_value(value)
        data[html_name] = "" if shown is None else str(shown)


def _put_rows(
    data: Any, made: type[RowSet], prefix: str, rows: Sequence[Mapping[str, Any]]
) -> None:
    for name in [name for name in data if name.startswith(f"{prefix}-")]:
        del data[name]
    data |= {
        f"{prefix}-TOTAL_FORMS": str(len(rows)),
        f"{prefix}-INITIAL_FORMS": "0",
        f"{prefix}-MIN_NUM_FORMS": "0",
        f"{prefix}-MAX_NUM_FORMS": str(MOST_ROWS),
    }
    for number, row in enumerate(rows):
        for name, field in made.form.base_fields.items():
            put(data, field, f"{prefix}-{number}-{name}", row.get(name))
