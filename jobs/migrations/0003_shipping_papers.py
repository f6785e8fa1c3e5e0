"""What a shipping paper says beside the movement: where it goes, and whom to call in an emergency."""

from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_stockmovement",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0002_what_runs_out'),
    ]

    operations = [
        # SQLite makes the table anew, without its triggers; PostgreSQL keeps them.
        migrations.RunPython(drop, put),
        migrations.AddField(
            model_name='stockmovement',
            name='consignee_address',
            field=models.CharField(blank=True, max_length=300, verbose_name='address of the firm'),
        ),
        migrations.AddField(
            model_name='stockmovement',
            name='emergency_telephone',
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.RunPython(put, drop),
    ]
