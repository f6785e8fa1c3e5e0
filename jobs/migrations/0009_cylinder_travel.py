"""A cylinder's move may name the shipment or sale that it went along with."""

import django.db.models.deletion
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_cylindermove",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0008_determinations_and_pressure_checks'),
    ]

    operations = [
        migrations.RunPython(drop, put),
        migrations.AddField(
            model_name='cylindermove',
            name='movement',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='cylinder_move', to='jobs.stockmovement'),
        ),
        migrations.AlterField(
            model_name='cylindermove',
            name='reason',
            field=models.CharField(choices=[('acquired', 'Came to us: bought, rented or exchanged'), ('work', 'Taken where it is needed'), ('sent', 'Sent away with its contents'), ('came_back', 'Came back to us empty'), ('returned_empty', 'Given back empty to whom it belongs'), ('retired', 'Taken out of use for good')], default='work', max_length=20),
        ),
        migrations.RunPython(put, drop),
    ]
