"""What hangs on a kind of part, what an inspection can cause, and what an owner is told first."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("installs", "0005_ratings_of_parts"),
    ]

    operations = [
        migrations.AddField(
            model_name="componentkind",
            name="duty",
            field=models.CharField(
                blank=True,
                choices=[
                    ("brake", "it is a brake unit"),
                    ("breakaway", "it acts after a breakaway"),
                    ("stop_lamps", "it switches stop lamps or brake unit"),
                    ("supply", "it feeds a brake unit"),
                    ("coupling", "it holds the vehicle behind the coach"),
                    ("other", "none of these"),
                ],
                default="",
                max_length=12,
                verbose_name="what hangs on it",
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="check",
            name="wants",
            field=models.JSONField(
                blank=True, default=list, verbose_name="values that must be given"
            ),
        ),
        migrations.AddField(
            model_name="standing",
            name="told",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AlterField(
            model_name="standing",
            name="proof",
            field=models.CharField(
                choices=[
                    ("good", "proven"),
                    ("stale", "stale"),
                    ("never", "never proven"),
                    ("nothing_fitted", "nothing fitted"),
                    ("not_towed", "not to be towed"),
                ],
                max_length=15,
            ),
        ),
        migrations.AlterField(
            model_name="reverification",
            name="cause",
            field=models.CharField(
                choices=[
                    ("vehicle_added", "a vehicle was added"),
                    ("procedure", "the tow procedure has a new revision"),
                    ("feed_map", "the feed map was corrected"),
                    ("fitting", "a part was fitted, moved or rewired"),
                    ("kind", "what a part needs was corrected"),
                    ("outside_work", "brake or electrical work was done elsewhere"),
                    ("inspection", "an inspection found a part that stopped working"),
                    ("nightly", "the nightly judgement found a difference"),
                ],
                max_length=20,
            ),
        ),
    ]
