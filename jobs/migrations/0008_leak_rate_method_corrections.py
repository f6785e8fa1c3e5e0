"""Corrections of a mistaken leak rate method in the register, kept as they were filed."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_leakratemethodcorrection",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0007_recycled_purchases'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name='casefiling',
            name='original',
            field=models.ForeignKey(blank=True, help_text='The first record of the line of amendments.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.casefiling'),
        ),
        migrations.AlterField(
            model_name='chainlink',
            name='record_kind',
            field=models.CharField(help_text='As jobs/services/chain.py names it, such as service_event.', max_length=20),
        ),
        migrations.CreateModel(
            name='LeakRateMethodCorrection',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, help_text='Made by the form, so that sending twice files once.', unique=True)),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('amendment_reason', models.TextField(blank=True)),
                ('is_void', models.BooleanField(default=False, help_text='It says that the former one counts no more.')),
                ('former_method', models.CharField(choices=[('annualizing', 'Annualizing method'), ('rolling_average', 'Rolling average method')], max_length=20)),
                ('facility', models.JSONField(default=dict)),
                ('happened_on', models.DateField(help_text='The date at the site when it was first filed.', verbose_name='corrected on')),
                ('method', models.CharField(choices=[('annualizing', 'Annualizing method'), ('rolling_average', 'Rolling average method')], max_length=20, verbose_name='right method')),
                ('mistake', models.TextField(verbose_name='how the mistake came about')),
                ('shown_by', models.CharField(max_length=240, verbose_name='what shows the right method')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('original', models.ForeignKey(blank=True, help_text='The first record of the line of amendments.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.leakratemethodcorrection')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='method_corrections', to='jobs.site')),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='jobs.leakratemethodcorrection')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'permissions': (('amend_leakratemethodcorrection', 'Can amend or withdraw a correction of a leak rate method in the register'),),
                'indexes': [models.Index(fields=['site', 'happened_on'], name='jobs_methodcorrection_history')],
                'constraints': [models.CheckConstraint(condition=models.Q(('is_void', False), ('supersedes__isnull', False), _connector='OR'), name='jobs_methodcorrection_void_names_what_it_voids'), models.CheckConstraint(condition=models.Q(('method', models.F('former_method')), _negated=True), name='jobs_methodcorrection_is_one')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
