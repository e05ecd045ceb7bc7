"""The database keeps hold points, answers and frozen records, whoever asks.

A step is settled only where no hold point before it is open, and a hold point only where nothing
before it is. Answers, records and addenda are written once.
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

SETTLED = "('passed', 'declined', 'not_applicable')"
HELD = " ".join(
    (
        "SELECT 1 FROM installs_jobstep AS earlier WHERE earlier.job_id = NEW.job_id",
        "AND NOT earlier.retired AND earlier.position < NEW.position",
        f"AND earlier.state NOT IN {SETTLED} AND (earlier.hold OR NEW.hold)",
    )
)
BECOMES = f"NEW.state IN {SETTLED} AND OLD.state NOT IN {SETTLED}"
OVER = (
    "SELECT 1 FROM installs_job AS job JOIN installs_jobstep AS step ON step.job_id = job.id "
    "WHERE step.id = NEW.step_id AND job.status IN ('closed', 'called_off')"
)
WRITTEN_ONCE = ("installs_stepanswer", "installs_jobrecord", "installs_addendum")

SQLITE = (
    "CREATE TRIGGER step_held BEFORE UPDATE OF state ON installs_jobstep "
    f"WHEN {BECOMES} AND EXISTS ({HELD}) "
    "BEGIN SELECT RAISE(ABORT, 'a hold point cannot be passed'); END",
    "CREATE TRIGGER step_born_open BEFORE INSERT ON installs_jobstep "
    f"WHEN NEW.state IN {SETTLED} "
    "BEGIN SELECT RAISE(ABORT, 'a step begins open'); END",
    f"CREATE TRIGGER answer_too_late BEFORE INSERT ON installs_stepanswer WHEN EXISTS ({OVER}) "
    "BEGIN SELECT RAISE(ABORT, 'the job is over'); END",
    *(
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'this is written once'); END"
        for table in WRITTEN_ONCE
        for verb in ("UPDATE", "DELETE")
    ),
)
POSTGRESQL = (
    "CREATE FUNCTION step_held() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"IF {BECOMES} AND EXISTS ({HELD}) THEN "
    "RAISE EXCEPTION 'a hold point cannot be passed' "
    "USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
    "CREATE TRIGGER step_held BEFORE UPDATE OF state ON installs_jobstep "
    "FOR EACH ROW EXECUTE FUNCTION step_held()",
    "CREATE FUNCTION step_born_open() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"IF NEW.state IN {SETTLED} THEN RAISE EXCEPTION 'a step begins open' "
    "USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
    "CREATE TRIGGER step_born_open BEFORE INSERT ON installs_jobstep "
    "FOR EACH ROW EXECUTE FUNCTION step_born_open()",
    "CREATE FUNCTION answer_too_late() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"IF EXISTS ({OVER}) THEN RAISE EXCEPTION 'the job is over' "
    "USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
    "CREATE TRIGGER answer_too_late BEFORE INSERT ON installs_stepanswer "
    "FOR EACH ROW EXECUTE FUNCTION answer_too_late()",
    "CREATE FUNCTION written_once() RETURNS trigger LANGUAGE plpgsql AS $$ "
    "BEGIN RAISE EXCEPTION 'this is written once' "
    "USING ERRCODE = 'integrity_constraint_violation'; END $$",
    *(
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
        "FOR EACH ROW EXECUTE FUNCTION written_once()"
        for table in WRITTEN_ONCE
    ),
)
UNDO_SQLITE = (
    "DROP TRIGGER step_held",
    "DROP TRIGGER step_born_open",
    "DROP TRIGGER answer_too_late",
    *(f"DROP TRIGGER {table}_no_{verb}" for table in WRITTEN_ONCE for verb in ("update", "delete")),
)
UNDO_POSTGRESQL = (
    "DROP TRIGGER step_held ON installs_jobstep",
    "DROP TRIGGER step_born_open ON installs_jobstep",
    "DROP TRIGGER answer_too_late ON installs_stepanswer",
    *(f"DROP TRIGGER {table}_no_change ON {table}" for table in WRITTEN_ONCE),
    "DROP FUNCTION step_held()",
    "DROP FUNCTION step_born_open()",
    "DROP FUNCTION answer_too_late()",
    "DROP FUNCTION written_once()",
)


def keep(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    _run(schema_editor, sqlite=SQLITE, postgresql=POSTGRESQL)


def let_go(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    _run(schema_editor, sqlite=UNDO_SQLITE, postgresql=UNDO_POSTGRESQL)


def _run(
    schema_editor: BaseDatabaseSchemaEditor, *, sqlite: tuple[str, ...], postgresql: tuple[str, ...]
) -> None:
    statements = sqlite if schema_editor.connection.vendor == "sqlite" else postgresql
    for statement in statements:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = (("installs", "0009_jobs"),)

    operations = (migrations.RunPython(keep, let_go),)
