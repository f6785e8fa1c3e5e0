"""Keeps who was given an obligation, and lets the board read it from the obligation."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("compliance_obligationassignment",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0008_further_report_kinds'),
        ('jobs', '0008_determinations_and_pressure_checks'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ObligationAssignment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('obligation_key', models.CharField(max_length=160)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('assigned_at', models.DateTimeField()),
                ('appliance', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='assignments', to='jobs.appliance')),
                ('assigned_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('technician', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.technician')),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-pk',),
            },
        ),
        migrations.AddField(
            model_name='obligation',
            name='assignment',
            field=models.ForeignKey(help_text='The newest for its key; none while nobody was ever named.', null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='compliance.obligationassignment'),
        ),
        migrations.AddIndex(
            model_name='obligationassignment',
            index=models.Index(fields=['obligation_key', 'id'], name='compliance_assignment_newest'),
        ),
        migrations.AddConstraint(
            model_name='obligationassignment',
            constraint=models.CheckConstraint(condition=models.Q(('technician', None), ('user', None), _connector='OR'), name='compliance_obligationassignment_one_person'),
        ),
        migrations.RunPython(put, drop),
    ]
