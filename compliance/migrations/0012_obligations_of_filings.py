"""Obligations name the filing that opened or met them."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0011_appliance_forecast'),
        ('jobs', '0012_case_filings'),
    ]

    operations = [
        migrations.AddField(
            model_name='obligation',
            name='met_by_filing',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='obligations_met', to='jobs.casefiling'),
        ),
        migrations.AddField(
            model_name='obligation',
            name='opened_by_filing',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='obligations_opened', to='jobs.casefiling'),
        ),
    ]
