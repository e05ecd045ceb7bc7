"""Rows that belong to a record: persons of a customer, steps of a procedure, fuses of a map."""

from typing import Any, TypeVar

from django import forms
from django.forms.formsets import BaseFormSet, formset_factory

Row = TypeVar("Row", bound=forms.Form)
MOST_ROWS = 200


class FoldedRow(forms.Form):
    """A row whose seldom needed fields, named in `rare`, are folded away while they say nothing."""

    rare: tuple[str, ...] = ()

    @property
    def shown_fields(self) -> list[forms.BoundField]:
        """The fields that are always in sight."""
        return [
            field for field in self.visible_fields() if field.name not in (*self.rare, "DELETE")
        ]

    @property
    def rare_fields(self) -> list[forms.BoundField]:
        """The fields that are folded away."""
        return [self[name] for name in self.rare]

    @property
    def is_unfolded(self) -> bool:
        """True where a folded field holds something or is wrong."""
        return any(
            field.errors or (field.value() or "") != (field.field.initial or "")
            for field in self.rare_fields
        )


class RowSet(BaseFormSet):
    """Rows of which any may be left empty: an emptied row is a row taken away.

    Django would count rows that were there before as ones that must stay filled; here every row
    may be blank, and an order or number is none of the set's business.
    """

    def initial_form_count(self) -> int:
        """Say that no row must be kept."""
        return 0

    def total_form_count(self) -> int:
        """Show the rows there are and some empty ones."""
        if self.is_bound:
            return super().total_form_count()
        return min(len(self.initial or ()) + self.extra, self.max_num)

    def filled(self) -> list[Any]:
        """Return the valid rows that hold something and are not to be removed."""
        return [row for row in self.forms if row.has_changed() and not self._goes(row)]

    def _goes(self, row: Any) -> bool:
        return bool(self.can_delete and self._should_delete_form(row))


def row_set(row: type[Row], *, extra: int) -> type[RowSet]:
    """Return the class of a set of `row` with `extra` empty rows for those without a script."""
    return formset_factory(  # type: ignore[return-value]
        row, formset=RowSet, extra=extra, can_delete=True, max_num=MOST_ROWS, absolute_max=MOST_ROWS
    )
