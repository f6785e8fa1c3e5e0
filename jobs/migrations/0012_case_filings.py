"""Keeps what is filed about a case beside visits, and the documents filed with it."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_casefiling", "jobs_documentfile", "jobs_filingattachment")


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0011_reminders_agreed_on'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='DocumentFile',
            fields=[
                ('byte_count', models.PositiveIntegerField()),
                ('compressed', models.BinaryField()),
                ('sha256', models.CharField(max_length=64, primary_key=True, serialize=False, verbose_name='SHA-256')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CaseFiling',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, help_text='Made by the form, so that sending twice files once.', unique=True)),
                ('kind', models.CharField(choices=[('extension', 'More time for a repair or test'), ('industrial_process_shutdown_required', 'Industrial process shutdown needed'), ('mothballed', 'Mothballed'), ('returned_to_service', 'Returned to service'), ('seasonal_variance', 'Seasonal variance used'), ('retrofit_or_retirement_elected', 'Retrofit or retirement chosen'), ('retrofit_or_retirement_plan', 'Retrofit or retirement plan'), ('relief_requested', 'Relief from the plan asked for'), ('plan_extension', 'More time for the retrofit or retirement'), ('agency_answer', 'The agency answered'), ('chronic_leak_report_filed', 'Chronic leak report sent'), ('annual_report_filed', 'Annual report sent to the state'), ('automatic_leak_detection', 'Automatic leak detection installed'), ('leak_detection_calibration', 'Leak detection audited or calibrated')], max_length=40)),
                ('happened_on', models.DateField(verbose_name='date at the site')),
                ('details', models.JSONField(blank=True, default=dict)),
                ('case', models.JSONField(blank=True, default=dict)),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('amendment_reason', models.TextField(blank=True)),
                ('is_void', models.BooleanField(default=False, help_text='It says that the former one counts no more.')),
                ('appliance', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='case_filings', to='jobs.appliance')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('original', models.ForeignKey(blank=True, help_text="The first record of the line of amendments; its place among the day's filings is theirs.", null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.casefiling')),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='jobs.casefiling')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'permissions': (('amend_casefiling', 'Can amend or withdraw a case filing'),),
            },
        ),
        migrations.CreateModel(
            name='FilingAttachment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('name', models.CharField(max_length=200, verbose_name='name of the file')),
                ('media_type', models.CharField(max_length=100)),
                ('file', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='attachments', to='jobs.documentfile')),
                ('filing', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='attachments', to='jobs.casefiling')),
            ],
            options={
                'ordering': ('filing', 'position'),
            },
        ),
        migrations.AddIndex(
            model_name='casefiling',
            index=models.Index(fields=['appliance', 'happened_on'], name='jobs_casefiling_history'),
        ),
        migrations.AddConstraint(
            model_name='casefiling',
            constraint=models.CheckConstraint(condition=models.Q(('is_void', False), ('supersedes__isnull', False), _connector='OR'), name='jobs_casefiling_void_names_what_it_voids'),
        ),
        migrations.AddConstraint(
            model_name='filingattachment',
            constraint=models.UniqueConstraint(fields=('filing', 'position'), name='jobs_filingattachment_position_once_a_filing'),
        ),
        migrations.RunPython(put, drop),
    ]
