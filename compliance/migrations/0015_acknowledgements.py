"""Keeps who acknowledged a reminder, and after how many days without that the officers are told."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

NEW_TABLE = "compliance_reminderacknowledgement"
ALTERED_TABLES = ("compliance_reminderplan",)


def put(apps, schema_editor):
    # SQLite made the altered table anew, without its triggers.
    drop_triggers(schema_editor.connection, ALTERED_TABLES)
    put_triggers(schema_editor.connection, (NEW_TABLE, *ALTERED_TABLES))


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, (NEW_TABLE,))


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0014_sweeps'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='reminder',
            name='is_escalation',
            field=models.BooleanField(default=False, help_text='It tells the compliance officers that nobody acknowledged a reminder.'),
        ),
        migrations.AddField(
            model_name='reminderplan',
            name='escalate_after_days',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='days unacknowledged after which the officers are told'),
        ),
        migrations.AlterField(
            model_name='reminder',
            name='milestone',
            field=models.CharField(help_text='Such as 7 days before, 3 days overdue, or unacknowledged, 7 days before.', max_length=40),
        ),
        migrations.CreateModel(
            name='ReminderAcknowledgement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('obligation_key', models.CharField(max_length=160)),
                ('due_on', models.DateField()),
                ('milestone', models.CharField(help_text='Of the reminder that was acknowledged.', max_length=40)),
                ('recipient_email', models.EmailField(max_length=254)),
                ('recipient_name', models.CharField(blank=True, max_length=120)),
                ('acknowledged_at', models.DateTimeField()),
                ('way', models.CharField(choices=[('portal', 'In the portal'), ('link', 'By the link in the e-mail')], max_length=10)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-acknowledged_at', '-pk'),
                'constraints': [models.UniqueConstraint(fields=('obligation_key', 'due_on', 'milestone', 'recipient_email'), name='compliance_reminderacknowledgement_once')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
