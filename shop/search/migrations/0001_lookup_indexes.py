"""Indexes for finding a piece of text anywhere in the look-up columns.

Models cannot declare them: each database needs its own sort. SQLite rebuilds a table when a later
migration alters it and then forgets an index that no model knows; tests/shop/search notices.
"""

from django.db import migrations

TABLES = ("people_customer", "vehicles_vehicle", "installs_component")


def add(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
    for table in TABLES:
        if vendor == "postgresql":
            schema_editor.execute(
                f"CREATE INDEX {table}_lookup ON {table} USING gin (lookup gin_trgm_ops)"
            )
        elif vendor == "sqlite":
            # Read from end to end, but a tenth of the table: the column lies there by itself.
            schema_editor.execute(f"CREATE INDEX {table}_lookup ON {table} (lookup)")


def drop(apps, schema_editor):
    for table in TABLES:
        schema_editor.execute(f"DROP INDEX IF EXISTS {table}_lookup")


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0001_initial"),
        ("vehicles", "0001_initial"),
        ("installs", "0001_initial"),
    ]

    operations = [migrations.RunPython(add, drop)]
