"""Adds logs of scales; what is filed of them is as fixed as the records they belong to."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_weighlog", "jobs_weighlogfile")


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0006_cylinder_life'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='WeighLog',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('unit', models.CharField(blank=True, max_length=10)),
                ('time_column', models.PositiveSmallIntegerField(blank=True, help_text='Counted from 0.', null=True)),
                ('weight_column', models.PositiveSmallIntegerField(blank=True, help_text='Counted from 0.', null=True)),
                ('name', models.CharField(max_length=200, verbose_name='name of the file')),
                ('attached_at', models.DateTimeField()),
                ('is_added_later', models.BooleanField(default=False)),
                ('attached_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('transfer', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='weigh_log', to='jobs.transfer')),
            ],
            options={
                'ordering': ('transfer_id',),
            },
        ),
        migrations.CreateModel(
            name='WeighLogFile',
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
            name='WeighLogReading',
            fields=[
                ('log', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='reading', serialize=False, to='jobs.weighlog')),
                ('engine_version', models.CharField(max_length=20)),
                ('net_mg', models.BigIntegerField()),
                ('uncertainty_mg', models.BigIntegerField(help_text='One standard deviation.')),
                ('difference_mg', models.BigIntegerField(help_text="The mass on record less the log's.")),
                ('tolerance_mg', models.BigIntegerField(help_text='Beyond it the two differ by more than weighing explains.')),
                ('is_beyond_tolerance', models.BooleanField(db_index=True)),
                ('figures', models.JSONField()),
                ('curve', models.JSONField()),
            ],
        ),
        migrations.AddField(
            model_name='weighlog',
            name='file',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='weigh_logs', to='jobs.weighlogfile'),
        ),
        migrations.CreateModel(
            name='WeighLogUpload',
            fields=[
                ('byte_count', models.PositiveIntegerField()),
                ('compressed', models.BinaryField()),
                ('unit', models.CharField(blank=True, max_length=10)),
                ('time_column', models.PositiveSmallIntegerField(blank=True, help_text='Counted from 0.', null=True)),
                ('weight_column', models.PositiveSmallIntegerField(blank=True, help_text='Counted from 0.', null=True)),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('sha256', models.CharField(max_length=64, verbose_name='SHA-256')),
                ('name', models.CharField(max_length=200, verbose_name='name of the file')),
                ('uploaded_at', models.DateTimeField(db_index=True)),
                ('owner', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AlterField(
            model_name='chainlink',
            name='record_kind',
            field=models.CharField(help_text='service_event, stock_movement, weigh_log or a kind of cylinder record', max_length=20),
        ),
        migrations.RunPython(put, drop),
    ]
