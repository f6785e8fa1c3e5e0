"""Seals over the hash chains, kept as they were made."""

import django.db.models.deletion
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_chainseal", "jobs_sealedhead")


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0004_leak_rate_method_changes'),
    ]

    operations = [
        migrations.CreateModel(
            name='ChainSeal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(help_text='The first is 1.', unique=True)),
                ('sealed_at', models.DateTimeField()),
                ('previous_sha256', models.CharField(blank=True, max_length=64)),
                ('chain_count', models.PositiveIntegerField()),
                ('link_count', models.PositiveBigIntegerField(help_text='Of all chains together.')),
                ('heads_sha256', models.CharField(max_length=64)),
                ('sha256', models.CharField(max_length=64)),
            ],
            options={
                'ordering': ('-number',),
            },
        ),
        migrations.CreateModel(
            name='SealedHead',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('chain', models.CharField(help_text='appliance:ID or cylinder:ID', max_length=40)),
                ('sequence', models.PositiveIntegerField(help_text='How many links the chain had.')),
                ('sha256', models.CharField(max_length=64)),
                ('seal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='heads', to='jobs.chainseal')),
            ],
            options={
                'ordering': ('chain', 'sequence'),
                'constraints': [models.UniqueConstraint(fields=('chain', 'seal'), name='jobs_sealedhead_once_a_seal')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
