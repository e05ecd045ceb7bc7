from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("installs", "0006_looks_that_count")]

    operations = [
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
                    ("limit", "a limit was changed"),
                    ("nightly", "the nightly judgement found a difference"),
                ],
                max_length=20,
            ),
        ),
        migrations.AddField(
            model_name="standing",
            name="numbers",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="standing",
            name="limits",
            field=models.PositiveBigIntegerField(default=0, db_index=True),
        ),
    ]
