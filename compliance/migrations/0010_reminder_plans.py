"""Keeps when each kind of obligation is reminded of, as the compliance officer decided."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("compliance_reminderplan",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0009_obligation_assignments'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ReminderPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40)),
                ('effective_from', models.DateField(verbose_name='in force from')),
                ('days_before', models.JSONField(verbose_name='days before the due date')),
                ('daily_overdue_days', models.PositiveSmallIntegerField(verbose_name='days overdue on which it is reminded of each day')),
                ('overdue_every_days', models.PositiveSmallIntegerField(verbose_name='days between reminders from then on')),
                ('reason', models.CharField(max_length=300)),
                ('decided_at', models.DateTimeField()),
                ('decided_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-effective_from', '-pk'),
                'indexes': [models.Index(fields=['kind', 'effective_from'], name='compliance_plan_newest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('overdue_every_days__gte', 1)), name='compliance_reminderplan_never_falls_silent')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
