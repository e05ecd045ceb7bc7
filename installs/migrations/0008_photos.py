"""Photos, kept once per device's id."""

import django.db.models.deletion
import django.db.models.functions.datetime
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("installs", "0007_numbers_kept"),
        ("vehicles", "0003_source_may_be_missing"),
    ]

    operations = [
        migrations.CreateModel(
            name="Photo",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("client_id", models.UUIDField(unique=True)),
                (
                    "subject",
                    models.CharField(
                        blank=True, max_length=80, null=True, verbose_name="what it shows"
                    ),
                ),
                ("caption", models.CharField(blank=True, max_length=300)),
                ("marks", models.JSONField(blank=True, default=list)),
                ("taken_at", models.DateTimeField(blank=True, null=True)),
                (
                    "received_at",
                    models.DateTimeField(
                        db_default=django.db.models.functions.datetime.Now(), editable=False
                    ),
                ),
                ("by", models.CharField(max_length=150)),
                ("file", models.CharField(max_length=120, unique=True)),
                ("sha256", models.CharField(max_length=64)),
                ("received_sha256", models.CharField(max_length=64)),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
                ("version", models.PositiveIntegerField(default=1)),
                (
                    "vehicle",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="vehicles.vehicle",
                    ),
                ),
            ],
            options={
                "ordering": ("received_at", "id"),
                "indexes": [
                    models.Index(fields=["vehicle", "-received_at"], name="photo_by_vehicle")
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("width__gt", 0), ("height__gt", 0)),
                        name="photo_has_a_size",
                    )
                ],
            },
        ),
    ]
