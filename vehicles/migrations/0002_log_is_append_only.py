"""The log book refuses UPDATE and DELETE in the database itself, whoever asks."""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

SQLITE = (
    "CREATE TRIGGER event_no_update BEFORE UPDATE ON vehicles_event "
    "BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END",
    "CREATE TRIGGER event_no_delete BEFORE DELETE ON vehicles_event "
    "BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END",
)
POSTGRESQL = (
    "CREATE FUNCTION event_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ "
    "BEGIN RAISE EXCEPTION 'the log is append-only' "
    "USING ERRCODE = 'integrity_constraint_violation'; END $$",
    "CREATE TRIGGER event_no_change BEFORE UPDATE OR DELETE ON vehicles_event "
    "FOR EACH ROW EXECUTE FUNCTION event_refuse()",
)
UNDO_SQLITE = ("DROP TRIGGER event_no_update", "DROP TRIGGER event_no_delete")
UNDO_POSTGRESQL = (
    "DROP TRIGGER event_no_change ON vehicles_event",
    "DROP FUNCTION event_refuse()",
)


def refuse(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    _run(schema_editor, sqlite=SQLITE, postgresql=POSTGRESQL)


def allow(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    _run(schema_editor, sqlite=UNDO_SQLITE, postgresql=UNDO_POSTGRESQL)


def _run(
    schema_editor: BaseDatabaseSchemaEditor, *, sqlite: tuple[str, ...], postgresql: tuple[str, ...]
) -> None:
    statements = sqlite if schema_editor.connection.vendor == "sqlite" else postgresql
    for statement in statements:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = (("vehicles", "0001_initial"),)

    operations = (migrations.RunPython(refuse, allow),)
