"""Changes of a facility's leak rate method, kept as they were filed."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = ("jobs_leakratemethodchange",)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0003_shipping_papers'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name='chainlink',
            name='record_kind',
            field=models.CharField(help_text='service_event, stock_movement, weigh_log, case_filing, method_change or a kind of cylinder record', max_length=20),
        ),
        migrations.AlterField(
            model_name='historicalsite',
            name='leak_rate_method',
            field=models.CharField(choices=[('annualizing', 'Annualizing method'), ('rolling_average', 'Rolling average method')], default='annualizing', help_text='One for all appliances at the facility (40 CFR 82.152, 84.106(b)), before any change on record.', max_length=20, verbose_name='leak rate method of the facility'),
        ),
        migrations.AlterField(
            model_name='site',
            name='leak_rate_method',
            field=models.CharField(choices=[('annualizing', 'Annualizing method'), ('rolling_average', 'Rolling average method')], default='annualizing', help_text='One for all appliances at the facility (40 CFR 82.152, 84.106(b)), before any change on record.', max_length=20, verbose_name='leak rate method of the facility'),
        ),
        migrations.CreateModel(
            name='LeakRateMethodChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, help_text='Made by the form, so that sending twice files once.', unique=True)),
                ('happened_on', models.DateField(help_text='The first day of the new method, at the site.', verbose_name='adopted on')),
                ('former_method', models.CharField(choices=[('annualizing', 'Annualizing method'), ('rolling_average', 'Rolling average method')], max_length=20)),
                ('method', models.CharField(choices=[('annualizing', 'Annualizing method'), ('rolling_average', 'Rolling average method')], max_length=20, verbose_name='new method')),
                ('acquired_on', models.DateField(verbose_name='facility acquired on')),
                ('acquired_from', models.CharField(max_length=160)),
                ('is_owners_method', models.BooleanField(default=True)),
                ('decided_by', models.CharField(max_length=160)),
                ('facility', models.JSONField(default=dict)),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('amendment_reason', models.TextField(blank=True)),
                ('is_void', models.BooleanField(default=False, help_text='It says that the former one counts no more.')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('original', models.ForeignKey(blank=True, help_text='The first record of the line of amendments.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.leakratemethodchange')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='method_changes', to='jobs.site')),
                ('supersedes', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='jobs.leakratemethodchange')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'permissions': (('amend_leakratemethodchange', 'Can amend or withdraw a change of leak rate method'),),
                'indexes': [models.Index(fields=['site', 'happened_on'], name='jobs_methodchange_history')],
                'constraints': [models.CheckConstraint(condition=models.Q(('is_void', False), ('supersedes__isnull', False), _connector='OR'), name='jobs_methodchange_void_names_what_it_voids'), models.CheckConstraint(condition=models.Q(('method', models.F('former_method')), _negated=True), name='jobs_methodchange_is_one')],
            },
        ),
        migrations.RunPython(put, drop),
    ]
