"""Keeps requalification tests of cylinders as filed records, which can be withdrawn."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

TEST, WITHDRAWAL = "jobs_requalificationtest", "jobs_withdrawal"


def unfix_withdrawals(apps, schema_editor):
    drop_triggers(schema_editor.connection, [WITHDRAWAL])


def fix_withdrawals(apps, schema_editor):
    put_triggers(schema_editor.connection, [WITHDRAWAL])


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, [TEST, WITHDRAWAL])


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, [TEST, WITHDRAWAL])


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0012_case_filings'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(unfix_withdrawals, fix_withdrawals),
        migrations.CreateModel(
            name='RequalificationTest',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('method', models.CharField(choices=[('volumetric_expansion', 'Volumetric expansion test'), ('proof_pressure', 'Proof pressure test'), ('external_visual', 'Complete external visual inspection (marked E)')], max_length=24)),
                ('result', models.CharField(choices=[('passed', 'Passed, and marked'), ('condemned', 'Condemned')], max_length=10)),
                ('requalifier', models.CharField(help_text='The firm that tested it.', max_length=160)),
                ('identification_number', models.CharField(max_length=20, verbose_name='RIN')),
                ('test_pressure_psi', models.PositiveIntegerField(blank=True, null=True, verbose_name='test pressure')),
                ('document_number', models.CharField(blank=True, max_length=80)),
                ('reason', models.TextField(blank=True, help_text='Why it was condemned.')),
                ('former_requalified_on', models.DateField(blank=True, null=True)),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.RemoveConstraint(
            model_name='withdrawal',
            name='jobs_withdrawal_names_one_record',
        ),
        migrations.AddField(
            model_name='requalificationtest',
            name='cylinder',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder'),
        ),
        migrations.AddField(
            model_name='requalificationtest',
            name='filed_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='withdrawal',
            name='requalification_test',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='jobs.requalificationtest'),
        ),
        migrations.AddConstraint(
            model_name='withdrawal',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('contamination__isnull', True), ('cylinder_move__isnull', False), ('cylinder_weighing__isnull', True), ('requalification_test__isnull', True), ('shipment_receipt__isnull', True)), models.Q(('contamination__isnull', True), ('cylinder_move__isnull', True), ('cylinder_weighing__isnull', False), ('requalification_test__isnull', True), ('shipment_receipt__isnull', True)), models.Q(('contamination__isnull', True), ('cylinder_move__isnull', True), ('cylinder_weighing__isnull', True), ('requalification_test__isnull', True), ('shipment_receipt__isnull', False)), models.Q(('contamination__isnull', False), ('cylinder_move__isnull', True), ('cylinder_weighing__isnull', True), ('requalification_test__isnull', True), ('shipment_receipt__isnull', True)), models.Q(('contamination__isnull', True), ('cylinder_move__isnull', True), ('cylinder_weighing__isnull', True), ('requalification_test__isnull', False), ('shipment_receipt__isnull', True)), _connector='OR'), name='jobs_withdrawal_names_one_record'),
        ),
        migrations.RunPython(put, drop),
    ]
