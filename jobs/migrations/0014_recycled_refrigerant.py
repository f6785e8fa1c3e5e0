"""Says of a transfer that recovered refrigerant was recycled before it went in."""

from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

# SQLite makes it anew when a column is added, without its triggers.
ALTERED_TABLES = ("jobs_transfer",)


def put(apps, schema_editor):
    drop_triggers(schema_editor.connection, ALTERED_TABLES)
    put_triggers(schema_editor.connection, ALTERED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0013_requalification_tests'),
    ]

    operations = [
        migrations.AddField(
            model_name='transfer',
            name='is_recycled',
            field=models.BooleanField(default=False, help_text='Said where the law asks for it of recovered refrigerant that goes into an appliance.', verbose_name='recycled after it was recovered'),
        ),
        migrations.RunPython(put, migrations.RunPython.noop),
    ]
