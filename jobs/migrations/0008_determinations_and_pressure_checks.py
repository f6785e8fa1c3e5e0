"""Keeps how each full charge was determined, and checks of cylinders' pressures."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_cylinderpressurecheck", "jobs_fullchargedetermination")


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0007_weigh_logs'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CylinderPressureCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('checked_on', models.DateField()),
                ('refrigerant', models.CharField(max_length=20)),
                ('readings', models.JSONField(help_text='As typed: temperature, pressure, doubts, vapour drawn, altitude.')),
                ('verdict', models.CharField(choices=[('fits', 'No sign of non-condensable gases'), ('recheck', 'Compare again after 24 hours'), ('too_high', 'Non-condensable gases, or another refrigerant'), ('too_low', 'Another refrigerant, or no liquid left'), ('none', 'No verdict')], max_length=10)),
                ('because', models.TextField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='pressure_checks', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-checked_on', '-pk'),
            },
        ),
        migrations.CreateModel(
            name='FullChargeDetermination',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('determined_on', models.DateField()),
                ('method', models.CharField(choices=[('manufacturer', "Manufacturer's figure"), ('calculation', 'Calculation from components and piping'), ('measurement', 'Measurement of refrigerant added or evacuated'), ('established_range', 'Established range (its midpoint)'), ('combination', 'Combination of methods')], max_length=20)),
                ('refrigerant', models.CharField(max_length=20)),
                ('full_charge_mg', models.BigIntegerField()),
                ('full_charge_entered', models.CharField(max_length=40)),
                ('full_charge_unit', models.CharField(choices=[('lb', 'lb'), ('oz', 'oz'), ('lb+oz', 'lb + oz'), ('kg', 'kg'), ('g', 'g')], max_length=10)),
                ('lowest_mg', models.BigIntegerField(blank=True, help_text='The lower end of an established range, or of an estimate.', null=True)),
                ('highest_mg', models.BigIntegerField(blank=True, help_text='The upper end of an established range, or of an estimate.', null=True)),
                ('derivation', models.TextField(blank=True)),
                ('inputs', models.JSONField(blank=True, default=dict, help_text='Of a calculation: parts, conditions, model, result. Of a range: as typed.')),
                ('filed_at', models.DateTimeField()),
                ('appliance', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='full_charge_determinations', to='jobs.appliance')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-determined_on', '-pk'),
                'constraints': [models.CheckConstraint(condition=models.Q(('full_charge_mg__gt', 0)), name='jobs_fullchargedetermination_charge_above_zero')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
