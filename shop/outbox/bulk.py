"""Writing many rows of a table at once, without a model object for each.

A tick writes thousands of rows, and building and unpacking the objects would cost several times
what the database takes for them.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import connection, models

# The drivers take these as they are; all others are adapted to the database.
_PLAIN = (models.CharField, models.TextField, models.IntegerField, models.ForeignKey)


def insert_rows(model: type[models.Model], rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows given by their columns (attribute names), with the model's defaults for the rest.

    All rows have the same columns in the same order. Raises IntegrityError where a constraint
    refuses one; call it inside a transaction. Nothing is validated.
    """
    if not rows:
        return
    fields = {
        field.attname: field
        for field in model._meta.concrete_fields
        if not field.primary_key and not field.has_db_default()
    }
    names = [*rows[0], *(fields.keys() - rows[0].keys())]
    besides = [fields[name].get_default() for name in names[len(rows[0]) :]]
    quoted = ", ".join(connection.ops.quote_name(str(fields[name].column)) for name in names)
    table = connection.ops.quote_name(model._meta.db_table)
    places = ", ".join(["%s"] * len(names))
    values = [[*row.values(), *besides] for row in rows]
    for at, name in enumerate(names):
        if not isinstance(fields[name], _PLAIN):
            _adapt(values, at, fields[name])
    statement = f"INSERT INTO {table} ({quoted}) VALUES ({places})"  # noqa: S608 -- own names only
    with connection.cursor() as cursor:
        cursor.executemany(statement, values)


def _adapt(rows: list[list[Any]], at: int, field: Any) -> None:
    """Adapt one column in place; the same few instants recur in every row."""
    known: dict[Any, Any] = {}
    for row in rows:
        value = row[at]
        if isinstance(value, dict | list):
            row[at] = field.get_db_prep_save(value, connection)
            continue
        if value not in known:
            known[value] = field.get_db_prep_save(value, connection)
        row[at] = known[value]
