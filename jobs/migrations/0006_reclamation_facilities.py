"""Where reclaimed refrigerant that was bought had been reclaimed."""

from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_stockmovement",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0005_chain_seals'),
    ]

    operations = [
        # SQLite makes the table anew, without its triggers; PostgreSQL keeps them.
        migrations.RunPython(drop, put),
        migrations.AddField(
            model_name='stockmovement',
            name='facility',
            field=models.CharField(blank=True, max_length=300, verbose_name='reclamation facility, its name and address'),
        ),
        migrations.AddField(
            model_name='stockmovement',
            name='facility_certificate',
            field=models.CharField(blank=True, max_length=80, verbose_name='certificate number of the facility'),
        ),
        migrations.RunPython(put, drop),
    ]
