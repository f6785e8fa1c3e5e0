"""The difference between a shipment and its receipt may be posted, once."""

import django.db.models.deletion
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_stockmovement",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0009_cylinder_travel'),
    ]

    operations = [
        migrations.RunPython(drop, put),
        migrations.AlterModelOptions(
            name='stockmovement',
            options={'ordering': ('happened_on', 'pk'), 'permissions': (('adjust_stock', 'Can adjust the books to a scale or a receipt'), ('reconcile_stock', 'Can see the monthly reconciliation'), ('reverse_stockmovement', 'Can reverse a mistaken movement of stock'))},
        ),
        migrations.AddField(
            model_name='stockmovement',
            name='receipt',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='adjustment', to='jobs.shipmentreceipt'),
        ),
        migrations.AlterField(
            model_name='stockmovement',
            name='kind',
            field=models.CharField(choices=[('opening', 'Contents when the books began'), ('purchase', 'Bought from a supplier'), ('reclamation', 'Sent for reclamation'), ('destruction', 'Sent for destruction'), ('sale', 'Sold'), ('heel', 'Heel moved into another cylinder'), ('adjustment', 'Books adjusted to the scale'), ('receipt_difference', 'Difference to a receipt posted'), ('reversal', 'Reversal of a mistaken record'), ('appliance_opening', "Appliance's charge when its books began")], max_length=20),
        ),
        migrations.RunPython(put, drop),
    ]
