"""Recovery machines, scales and gauges; what service events tell of how a circuit was opened."""

import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

NEW_TABLE = "jobs_calibration"
# SQLite makes these anew when a column is added, without their triggers.
ALTERED_TABLES = ("jobs_serviceevent", "jobs_transfer")


def put(apps, schema_editor):
    drop_triggers(schema_editor.connection, ALTERED_TABLES)
    put_triggers(schema_editor.connection, (NEW_TABLE, *ALTERED_TABLES))


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, (NEW_TABLE,))


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0002_lines_and_fixed_tables'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='RecoveryMachine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('make', models.CharField(max_length=80)),
                ('model', models.CharField(max_length=80)),
                ('serial_number', models.CharField(max_length=60, unique=True)),
                ('made_on', models.DateField(help_text='From its plate. It decides the evacuation level (40 CFR 82.156(a), table 1). The first of the month if the plate gives no day.', verbose_name='manufactured on')),
                ('certified_by', models.CharField(blank=True, help_text='The testing organization on its label (40 CFR 82.158). Without one it is not certified.', max_length=120, verbose_name='certified by')),
                ('certified_for', models.CharField(blank=True, help_text='As the label says, such as high- and medium-pressure refrigerants.', max_length=120, verbose_name='certified for')),
                ('kind', models.CharField(choices=[('self_contained', 'Self-contained'), ('system_dependent', "System-dependent (the appliance's own pressure does the work)")], default='self_contained', max_length=20)),
                ('is_pump_out_unit', models.BooleanField(default=False, verbose_name='permanently attached to an appliance as its pump-out unit')),
                ('is_in_use', models.BooleanField(default=True, verbose_name='in use')),
            ],
            options={
                'ordering': ('make', 'model', 'serial_number'),
            },
        ),
        migrations.AddField(
            model_name='appliance',
            name='is_mvac_like',
            field=models.BooleanField(default=False, verbose_name='cab cooling of an off-road vehicle, with an open-drive compressor (MVAC-like)'),
        ),
        migrations.AddField(
            model_name='historicalappliance',
            name='is_mvac_like',
            field=models.BooleanField(default=False, verbose_name='cab cooling of an off-road vehicle, with an open-drive compressor (MVAC-like)'),
        ),
        migrations.AddField(
            model_name='serviceevent',
            name='is_compressor_running',
            field=models.BooleanField(blank=True, null=True, verbose_name='the compressor ran during the recovery'),
        ),
        migrations.AddField(
            model_name='serviceevent',
            name='opening_kind',
            field=models.CharField(blank=True, choices=[('major', 'Major repair, or evacuated to the atmosphere afterwards'), ('not_major', 'Not a major repair, and not evacuated to the atmosphere afterwards'), ('oil_change', 'Oil change, and not evacuated to the atmosphere afterwards'), ('leaking', 'Leaks make the level unattainable, or would contaminate the refrigerant'), ('disposal', 'Disposal of the appliance')], max_length=12, verbose_name='why the circuit was opened'),
        ),
        migrations.AddField(
            model_name='serviceevent',
            name='opening_note',
            field=models.CharField(blank=True, max_length=240, verbose_name='about the leaks'),
        ),
        migrations.AlterField(
            model_name='certification',
            name='type',
            field=models.CharField(choices=[('type_i', 'Type I: small appliances'), ('type_ii', 'Type II: medium-, high- and very high-pressure appliances'), ('type_iii', 'Type III: low-pressure appliances'), ('universal', 'Universal'), ('section_609', 'Section 609: motor vehicle air conditioning and MVAC-like')], max_length=20),
        ),
        migrations.AlterField(
            model_name='historicalcertification',
            name='type',
            field=models.CharField(choices=[('type_i', 'Type I: small appliances'), ('type_ii', 'Type II: medium-, high- and very high-pressure appliances'), ('type_iii', 'Type III: low-pressure appliances'), ('universal', 'Universal'), ('section_609', 'Section 609: motor vehicle air conditioning and MVAC-like')], max_length=20),
        ),
        migrations.AlterField(
            model_name='serviceevent',
            name='final_vacuum_unit',
            field=models.CharField(blank=True, choices=[('micron', 'micron (absolute)'), ('mmHg_abs', 'mm Hg absolute'), ('inHg_vac', 'in Hg vacuum'), ('kPa_abs', 'kPa absolute'), ('psig', 'psig (above the air around it)')], max_length=10),
        ),
        migrations.CreateModel(
            name='HistoricalInstrument',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('kind', models.CharField(choices=[('scale', 'Scale'), ('pressure_gauge', 'Pressure gauge or manifold'), ('vacuum_gauge', 'Vacuum gauge')], max_length=20)),
                ('make', models.CharField(max_length=80)),
                ('model', models.CharField(blank=True, max_length=80)),
                ('serial_number', models.CharField(db_index=True, max_length=60)),
                ('division_entered', models.CharField(max_length=20, verbose_name='division')),
                ('division_unit', models.CharField(choices=[('g', 'g'), ('kg', 'kg'), ('oz', 'oz'), ('lb', 'lb'), ('micron', 'micron'), ('inHg', 'in Hg'), ('psi', 'psi'), ('kPa', 'kPa')], max_length=10, verbose_name='unit')),
                ('division_mg', models.BigIntegerField(blank=True, null=True, verbose_name='division of a scale')),
                ('accuracy_entered', models.CharField(blank=True, max_length=20, verbose_name='accuracy, plus or minus')),
                ('accuracy_mg', models.BigIntegerField(blank=True, null=True, verbose_name='accuracy of a scale')),
                ('accuracy_pct', models.DecimalField(blank=True, decimal_places=3, max_digits=5, null=True, verbose_name='accuracy, percent of the reading')),
                ('calibration_interval_months', models.PositiveSmallIntegerField(default=12, help_text='As its maker or your quality system asks; the law sets none for it.', verbose_name='calibrated every (months)')),
                ('is_in_use', models.BooleanField(default=True, verbose_name='in use')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical instrument',
                'verbose_name_plural': 'historical instruments',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalRecoveryMachine',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('make', models.CharField(max_length=80)),
                ('model', models.CharField(max_length=80)),
                ('serial_number', models.CharField(db_index=True, max_length=60)),
                ('made_on', models.DateField(help_text='From its plate. It decides the evacuation level (40 CFR 82.156(a), table 1). The first of the month if the plate gives no day.', verbose_name='manufactured on')),
                ('certified_by', models.CharField(blank=True, help_text='The testing organization on its label (40 CFR 82.158). Without one it is not certified.', max_length=120, verbose_name='certified by')),
                ('certified_for', models.CharField(blank=True, help_text='As the label says, such as high- and medium-pressure refrigerants.', max_length=120, verbose_name='certified for')),
                ('kind', models.CharField(choices=[('self_contained', 'Self-contained'), ('system_dependent', "System-dependent (the appliance's own pressure does the work)")], default='self_contained', max_length=20)),
                ('is_pump_out_unit', models.BooleanField(default=False, verbose_name='permanently attached to an appliance as its pump-out unit')),
                ('is_in_use', models.BooleanField(default=True, verbose_name='in use')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical recovery machine',
                'verbose_name_plural': 'historical recovery machines',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Instrument',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('scale', 'Scale'), ('pressure_gauge', 'Pressure gauge or manifold'), ('vacuum_gauge', 'Vacuum gauge')], max_length=20)),
                ('make', models.CharField(max_length=80)),
                ('model', models.CharField(blank=True, max_length=80)),
                ('serial_number', models.CharField(max_length=60, unique=True)),
                ('division_entered', models.CharField(max_length=20, verbose_name='division')),
                ('division_unit', models.CharField(choices=[('g', 'g'), ('kg', 'kg'), ('oz', 'oz'), ('lb', 'lb'), ('micron', 'micron'), ('inHg', 'in Hg'), ('psi', 'psi'), ('kPa', 'kPa')], max_length=10, verbose_name='unit')),
                ('division_mg', models.BigIntegerField(blank=True, null=True, verbose_name='division of a scale')),
                ('accuracy_entered', models.CharField(blank=True, max_length=20, verbose_name='accuracy, plus or minus')),
                ('accuracy_mg', models.BigIntegerField(blank=True, null=True, verbose_name='accuracy of a scale')),
                ('accuracy_pct', models.DecimalField(blank=True, decimal_places=3, max_digits=5, null=True, verbose_name='accuracy, percent of the reading')),
                ('calibration_interval_months', models.PositiveSmallIntegerField(default=12, help_text='As its maker or your quality system asks; the law sets none for it.', verbose_name='calibrated every (months)')),
                ('is_in_use', models.BooleanField(default=True, verbose_name='in use')),
            ],
            options={
                'ordering': ('kind', 'serial_number'),
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('division_mg__gt', 0), ('kind', 'scale')), models.Q(models.Q(('kind', 'scale'), _negated=True), ('accuracy_mg__isnull', True), ('division_mg__isnull', True)), _connector='OR'), name='jobs_instrument_scale_has_a_division_of_mass')],
            },
        ),
        migrations.AddField(
            model_name='serviceevent',
            name='gauge',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='service_events', to='jobs.instrument'),
        ),
        migrations.AddField(
            model_name='transfer',
            name='scale',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='transfers', to='jobs.instrument'),
        ),
        migrations.AddField(
            model_name='serviceevent',
            name='recovery_machine',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='service_events', to='jobs.recoverymachine'),
        ),
        migrations.CreateModel(
            name='Calibration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('calibrated_on', models.DateField()),
                ('due_on', models.DateField(help_text='The last day on which it counts as calibrated.', verbose_name='next due on')),
                ('certificate_number', models.CharField(max_length=60)),
                ('calibrated_by', models.CharField(max_length=120, verbose_name='calibrated by')),
                ('recorded_at', models.DateTimeField()),
                ('correction_reason', models.CharField(blank=True, max_length=240)),
                ('is_void', models.BooleanField(default=False, help_text='The correction says that the calibration never took place.')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='jobs.calibration')),
                ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='jobs.instrument')),
            ],
            options={
                'ordering': ('-calibrated_on', '-pk'),
                'constraints': [models.CheckConstraint(condition=models.Q(('due_on__gte', models.F('calibrated_on'))), name='jobs_calibration_due_after_it_was_done')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
