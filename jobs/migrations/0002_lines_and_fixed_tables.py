"""Gives amendments the first record of their line, and filed tables the triggers that refuse any change."""

import django.db.models.deletion
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = (
    "jobs_chainlink",
    "jobs_leak",
    "jobs_leakfinding",
    "jobs_leakinspection",
    "jobs_repair",
    "jobs_serviceevent",
    "jobs_statement",
    "jobs_stockmovement",
    "jobs_transfer",
    "jobs_verificationtest",
)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="serviceevent",
            name="original",
            field=models.ForeignKey(
                blank=True,
                help_text="The first record of the line of amendments; its place among the day's visits is theirs.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="jobs.serviceevent",
            ),
        ),
        migrations.RunPython(put, drop),
    ]
