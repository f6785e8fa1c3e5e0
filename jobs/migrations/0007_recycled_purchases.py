"""Refrigerant may be bought as recycled; its facility is named as that of reclaimed refrigerant."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0006_reclamation_facilities'),
    ]

    operations = [
        migrations.AlterField(
            model_name='stockmovement',
            name='facility',
            field=models.CharField(blank=True, max_length=300, verbose_name='facility that reclaimed or recycled it, its name and address'),
        ),
        migrations.AlterField(
            model_name='stockmovement',
            name='supply_status',
            field=models.CharField(blank=True, choices=[('virgin', 'New (virgin)'), ('reclaimed', 'Reclaimed'), ('recycled', 'Recycled')], max_length=10),
        ),
    ]
