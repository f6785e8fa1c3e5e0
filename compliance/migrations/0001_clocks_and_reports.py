"""What the law makes of the records, and what is sent and printed of it."""

import django.db.models.deletion
import jobs.models.customers
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

FILED_TABLES = (
    "compliance_obligationassignment",
    "compliance_reminderacknowledgement",
    "compliance_reminderplan",
)


def put(apps, schema_editor):
    put_triggers(schema_editor.connection, FILED_TABLES)


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    initial = True

    # The steps in which it grew before the first release; a database that took them all is as this makes it.
    replaces = [
        ('compliance', '0001_initial'),
        ('compliance', '0002_projections_and_queue'),
        ('compliance', '0003_reminder_state_words'),
        ('compliance', '0004_report_runs_in_background'),
        ('compliance', '0005_record_deliveries'),
        ('compliance', '0006_report_kinds'),
        ('compliance', '0007_record_packs'),
        ('compliance', '0008_further_report_kinds'),
        ('compliance', '0009_obligation_assignments'),
        ('compliance', '0010_reminder_plans'),
        ('compliance', '0011_appliance_forecast'),
        ('compliance', '0012_obligations_of_filings'),
        ('compliance', '0013_reminder_preferences'),
        ('compliance', '0014_sweeps'),
        ('compliance', '0015_acknowledgements'),
        ('compliance', '0016_paper_report_kinds'),
    ]

    dependencies = [
        ('jobs', '0001_registers_and_records'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='TaskRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80, unique=True)),
                ('started_at', models.DateTimeField()),
                ('finished_at', models.DateTimeField(null=True)),
                ('has_failed', models.BooleanField(default=False)),
                ('outcome', models.TextField(blank=True)),
            ],
        ),
        migrations.CreateModel(
            name='ApplianceAssessment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('as_of', models.DateField()),
                ('holds_until', models.DateField(db_index=True, help_text='Up to this day at the site, time alone changes nothing of the answer.')),
                ('rulebook_version', models.CharField(max_length=80)),
                ('tables_version', models.CharField(default='', max_length=80)),
                ('applies', models.JSONField(default=list)),
                ('warnings', models.JSONField(default=list)),
                ('answer_sha256', models.CharField(blank=True, help_text="Of all that is stored of the answer; empty where it isn't known.", max_length=64)),
                ('assessed_at', models.DateTimeField()),
                ('appliance', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='assessment', to='jobs.appliance')),
            ],
        ),
        migrations.CreateModel(
            name='AssessmentSweep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('started_at', models.DateTimeField()),
                ('finished_at', models.DateTimeField(null=True)),
                ('stale_count', models.PositiveIntegerField(help_text='How many appliances were to be assessed at its start.')),
            ],
            options={
                'ordering': ('-pk',),
                'constraints': [models.UniqueConstraint(models.Value(1), condition=models.Q(('finished_at', None)), name='compliance_assessmentsweep_one_at_a_time')],
            },
        ),
        migrations.CreateModel(
            name='HistoricalReminderPreference',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('rhythm', models.CharField(choices=[('single', 'Each in an e-mail of its own'), ('digest', 'All in one e-mail a day')], default='single', max_length=10, verbose_name='reminders')),
                ('digest_hour', models.PositiveSmallIntegerField(default=7, verbose_name='hour of the digest')),
                ('quiet_from', models.TimeField(blank=True, null=True)),
                ('quiet_to', models.TimeField(blank=True, null=True)),
                ('time_zone', models.CharField(max_length=64, validators=[jobs.models.customers.validate_time_zone])),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('user', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical reminder preference',
                'verbose_name_plural': 'historical reminder preferences',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
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
        migrations.CreateModel(
            name='Obligation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(help_text='Appliance, rule, kind, opening day and a count: the same after any rebuild.', max_length=160, unique=True)),
                ('rule', models.CharField(max_length=40)),
                ('kind', models.CharField(max_length=40)),
                ('opened_on', models.DateField()),
                ('due_on', models.DateField(null=True)),
                ('status', models.CharField(choices=[('open', 'Open'), ('overdue', 'Overdue'), ('met', 'Met'), ('met_late', 'Met late'), ('failed', 'Failed'), ('suspended', 'Suspended'), ('cancelled', 'Cancelled')], max_length=20)),
                ('met_on', models.DateField(null=True)),
                ('citation', models.CharField(max_length=120)),
                ('because', models.TextField()),
                ('is_confirmed', models.BooleanField(default=True)),
                ('appliance', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='obligations', to='jobs.appliance')),
                ('met_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='obligations_met', to='jobs.serviceevent')),
                ('met_by_filing', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='obligations_met', to='jobs.casefiling')),
                ('opened_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='obligations_opened', to='jobs.serviceevent')),
                ('opened_by_filing', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='obligations_opened', to='jobs.casefiling')),
                ('assignment', models.ForeignKey(help_text='The newest for its key; none while nobody was ever named.', null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='compliance.obligationassignment')),
            ],
            options={
                'ordering': ('due_on', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='RecordDelivery',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recipient_email', models.EmailField(max_length=254)),
                ('recipient_name', models.CharField(blank=True, max_length=120)),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('sending', 'Being sent'), ('sent', 'Sent'), ('failed', 'Failed'), ('dropped', 'Withdrawn')], default='waiting', max_length=10)),
                ('raised_at', models.DateTimeField()),
                ('claimed_at', models.DateTimeField(null=True)),
                ('next_attempt_at', models.DateTimeField(help_text='After a failure: not before this instant.', null=True)),
                ('sent_at', models.DateTimeField(null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('last_error', models.TextField(blank=True)),
                ('sending', models.PositiveSmallIntegerField(default=1)),
                ('pdf', models.FileField(blank=True, upload_to='records/')),
                ('pdf_sha256', models.CharField(blank=True, max_length=64)),
                ('asked_by', models.ForeignKey(help_text='Who asked for it; nobody, where filing did.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('event', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deliveries', to='jobs.serviceevent')),
            ],
            options={
                'verbose_name_plural': 'record deliveries',
                'ordering': ('raised_at', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='RecordPack',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('running', 'Running'), ('done', 'Done'), ('failed', 'Failed')], default='waiting', max_length=10)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('done_count', models.PositiveIntegerField(default=0)),
                ('total_count', models.PositiveIntegerField(default=0)),
                ('failure', models.TextField(blank=True)),
                ('happened_from', models.DateField(verbose_name='visits from')),
                ('happened_to', models.DateField(verbose_name='visits to')),
                ('known_at', models.DateTimeField(help_text='Records filed later are not in it.')),
                ('file', models.FileField(blank=True, upload_to='packs/')),
                ('file_sha256', models.CharField(blank=True, max_length=64)),
                ('manifest_sha256', models.CharField(blank=True, max_length=64)),
                ('appliance', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.appliance')),
                ('asked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('customer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.customer')),
                ('site', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.site')),
            ],
            options={
                'ordering': ('-known_at', '-pk'),
            },
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
            },
        ),
        migrations.CreateModel(
            name='ReminderDigest',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recipient_email', models.EmailField(max_length=254)),
                ('recipient_name', models.CharField(blank=True, max_length=120)),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('sending', 'Being sent'), ('sent', 'Sent'), ('failed', 'Failed'), ('dropped', 'Withdrawn')], default='waiting', max_length=10)),
                ('raised_at', models.DateTimeField()),
                ('claimed_at', models.DateTimeField(null=True)),
                ('next_attempt_at', models.DateTimeField(help_text='After a failure: not before this instant.', null=True)),
                ('sent_at', models.DateTimeField(null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('last_error', models.TextField(blank=True)),
                ('due_at', models.DateTimeField(help_text='The hour of the digest as an instant.')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Reminder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recipient_email', models.EmailField(max_length=254)),
                ('recipient_name', models.CharField(blank=True, max_length=120)),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('sending', 'Being sent'), ('sent', 'Sent'), ('failed', 'Failed'), ('dropped', 'Withdrawn')], default='waiting', max_length=10)),
                ('raised_at', models.DateTimeField()),
                ('claimed_at', models.DateTimeField(null=True)),
                ('next_attempt_at', models.DateTimeField(help_text='After a failure: not before this instant.', null=True)),
                ('sent_at', models.DateTimeField(null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('last_error', models.TextField(blank=True)),
                ('obligation_key', models.CharField(max_length=160)),
                ('milestone', models.CharField(help_text='Such as 7 days before, 3 days overdue, or unacknowledged, 7 days before.', max_length=40)),
                ('is_escalation', models.BooleanField(default=False, help_text='It tells the compliance officers that nobody acknowledged a reminder.')),
                ('due_on', models.DateField()),
                ('channel', models.CharField(choices=[('email', 'E-mail'), ('portal', 'In the portal')], max_length=10)),
                ('subject', models.CharField(max_length=240)),
                ('body', models.TextField()),
                ('body_html', models.TextField(blank=True)),
                ('read_at', models.DateTimeField(null=True)),
                ('appliance', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='jobs.appliance')),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to=settings.AUTH_USER_MODEL)),
                ('digest', models.ForeignKey(help_text='The digest that carries it, if it is no e-mail of its own.', null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='items', to='compliance.reminderdigest')),
            ],
            options={
                'ordering': ('-raised_at', '-pk'),
            },
        ),
        migrations.CreateModel(
            name='ReminderPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40)),
                ('effective_from', models.DateField(verbose_name='in force from')),
                ('days_before', models.JSONField(verbose_name='days before the due date')),
                ('daily_overdue_days', models.PositiveSmallIntegerField(verbose_name='days overdue on which it is reminded of each day')),
                ('overdue_every_days', models.PositiveSmallIntegerField(verbose_name='days between reminders from then on')),
                ('escalate_after_days', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='days unacknowledged after which the officers are told')),
                ('reason', models.CharField(max_length=300)),
                ('decided_at', models.DateTimeField()),
                ('decided_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-effective_from', '-pk'),
            },
        ),
        migrations.CreateModel(
            name='ReminderPreference',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('rhythm', models.CharField(choices=[('single', 'Each in an e-mail of its own'), ('digest', 'All in one e-mail a day')], default='single', max_length=10, verbose_name='reminders')),
                ('digest_hour', models.PositiveSmallIntegerField(default=7, verbose_name='hour of the digest')),
                ('quiet_from', models.TimeField(blank=True, null=True)),
                ('quiet_to', models.TimeField(blank=True, null=True)),
                ('time_zone', models.CharField(max_length=64, validators=[jobs.models.customers.validate_time_zone])),
                ('user', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='reminder_preference', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='ReportRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('running', 'Running'), ('done', 'Done'), ('failed', 'Failed')], default='waiting', max_length=10)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('done_count', models.PositiveIntegerField(default=0)),
                ('total_count', models.PositiveIntegerField(default=0)),
                ('failure', models.TextField(blank=True)),
                ('kind', models.CharField(choices=[('annual_leak_rate', 'Annual leak rate report'), ('disposal', 'Disposal report'), ('mass_balance', 'Mass balance and greenhouse gas inventory'), ('equipment_record', 'Equipment record (EU and Great Britain)'), ('california_annual', 'California annual report figures'), ('technician_roster', 'Technician roster'), ('cylinder_register', 'Cylinder register'), ('chronic_leak_report', 'Chronic leak report'), ('retrofit_or_retirement_plan', 'Retrofit or retirement plan'), ('extension_request', 'Request for more time to repair or test'), ('relief_request', 'Request for relief from a retrofit or retirement plan'), ('plan_extension_request', 'Request for more time to retrofit or retire')], max_length=40)),
                ('year', models.PositiveSmallIntegerField()),
                ('options', models.JSONField(blank=True, default=dict)),
                ('as_of', models.DateField()),
                ('known_at', models.DateTimeField()),
                ('rulebook_version', models.CharField(blank=True, max_length=80)),
                ('run_at', models.DateTimeField()),
                ('document', models.BinaryField(null=True)),
                ('pdf', models.FileField(blank=True, upload_to='reports/')),
                ('pdf_sha256', models.CharField(blank=True, max_length=64)),
                ('appliance', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='jobs.appliance')),
                ('customer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='jobs.customer')),
                ('run_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to='jobs.site')),
            ],
            options={
                'ordering': ('-run_at',),
            },
        ),
        migrations.CreateModel(
            name='SweepChunk',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('running', 'Running'), ('done', 'Done'), ('failed', 'Failed')], default='waiting', max_length=10)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('done_count', models.PositiveIntegerField(default=0)),
                ('total_count', models.PositiveIntegerField(default=0)),
                ('failure', models.TextField(blank=True)),
                ('first_appliance_id', models.BigIntegerField()),
                ('last_appliance_id', models.BigIntegerField()),
                ('sweep', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='chunks', to='compliance.assessmentsweep')),
            ],
            options={
                'ordering': ('pk',),
            },
        ),
        migrations.CreateModel(
            name='ApplianceForecast',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('as_of', models.DateField()),
                ('chain_length', models.PositiveIntegerField(help_text="Records in the appliance's chain when it was made.")),
                ('missing', models.CharField(blank=True, max_length=20)),
                ('next_on', models.DateField(null=True)),
                ('earliest_on', models.DateField(null=True)),
                ('latest_on', models.DateField(null=True)),
                ('usual_mg', models.BigIntegerField(null=True)),
                ('outcome_count', models.PositiveSmallIntegerField(default=0)),
                ('over_count', models.PositiveSmallIntegerField(default=0)),
                ('over_soon_count', models.PositiveSmallIntegerField(default=0)),
                ('rate_pct', models.DecimalField(decimal_places=2, max_digits=14, null=True)),
                ('threshold_pct', models.DecimalField(decimal_places=2, max_digits=6, null=True)),
                ('is_repaired_since', models.BooleanField(default=False)),
                ('appliance', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='forecast', to='jobs.appliance')),
            ],
            options={
                'indexes': [models.Index(fields=['as_of'], name='compliance_forecast_as_of')],
            },
        ),
        migrations.CreateModel(
            name='LeakRate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('rule', models.CharField(max_length=40)),
                ('method', models.CharField(max_length=20)),
                ('on', models.DateField()),
                ('added_mg', models.BigIntegerField()),
                ('days', models.PositiveSmallIntegerField(null=True)),
                ('rate_pct', models.DecimalField(decimal_places=2, max_digits=14)),
                ('threshold_pct', models.DecimalField(decimal_places=2, max_digits=6, null=True)),
                ('exceeds', models.BooleanField(verbose_name='over the threshold')),
                ('because', models.TextField()),
                ('appliance', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='leak_rates', to='jobs.appliance')),
                ('event', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='leak_rates', to='jobs.serviceevent')),
            ],
            options={
                'ordering': ('appliance_id', 'position'),
                'indexes': [models.Index(fields=['on'], name='compliance_leakrate_on')],
                'constraints': [models.UniqueConstraint(fields=('appliance', 'position'), name='compliance_leakrate_position_once_an_appliance')],
            },
        ),
        migrations.AddIndex(
            model_name='obligationassignment',
            index=models.Index(fields=['obligation_key', 'id'], name='compliance_assignment_newest'),
        ),
        migrations.AddConstraint(
            model_name='obligationassignment',
            constraint=models.CheckConstraint(condition=models.Q(('technician', None), ('user', None), _connector='OR'), name='compliance_obligationassignment_one_person'),
        ),
        migrations.AddIndex(
            model_name='obligation',
            index=models.Index(fields=['status', 'due_on'], name='compliance_obligation_board'),
        ),
        migrations.AddIndex(
            model_name='recorddelivery',
            index=models.Index(fields=['state', 'claimed_at'], name='compliance_delivery_queue'),
        ),
        migrations.AddConstraint(
            model_name='recorddelivery',
            constraint=models.UniqueConstraint(fields=('event', 'recipient_email', 'sending'), name='compliance_recorddelivery_once'),
        ),
        migrations.AddConstraint(
            model_name='recordpack',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('appliance', None), ('customer__isnull', False), ('site', None)), models.Q(('appliance', None), ('customer', None), ('site__isnull', False)), models.Q(('appliance__isnull', False), ('customer', None), ('site', None)), _connector='OR'), name='compliance_recordpack_has_one_subject'),
        ),
        migrations.AddConstraint(
            model_name='recordpack',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'done'), _negated=True), models.Q(('manifest_sha256', ''), _negated=True), _connector='OR'), name='compliance_recordpack_done_has_file'),
        ),
        migrations.AddConstraint(
            model_name='reminderacknowledgement',
            constraint=models.UniqueConstraint(fields=('obligation_key', 'due_on', 'milestone', 'recipient_email'), name='compliance_reminderacknowledgement_once'),
        ),
        migrations.AddIndex(
            model_name='reminderdigest',
            index=models.Index(fields=['state', 'claimed_at'], name='compliance_digest_queue'),
        ),
        migrations.AddConstraint(
            model_name='reminderdigest',
            constraint=models.UniqueConstraint(fields=('user', 'due_at'), name='compliance_reminderdigest_once'),
        ),
        migrations.AddIndex(
            model_name='reminder',
            index=models.Index(fields=['state', 'claimed_at'], name='compliance_reminder_queue'),
        ),
        migrations.AddConstraint(
            model_name='reminder',
            constraint=models.UniqueConstraint(fields=('obligation_key', 'due_on', 'milestone', 'recipient_email', 'channel'), name='compliance_reminder_once'),
        ),
        migrations.AddIndex(
            model_name='reminderplan',
            index=models.Index(fields=['kind', 'effective_from'], name='compliance_plan_newest'),
        ),
        migrations.AddConstraint(
            model_name='reminderplan',
            constraint=models.CheckConstraint(condition=models.Q(('overdue_every_days__gte', 1)), name='compliance_reminderplan_never_falls_silent'),
        ),
        migrations.AddConstraint(
            model_name='reminderpreference',
            constraint=models.CheckConstraint(condition=models.Q(('digest_hour__lte', 23)), name='compliance_reminderpreference_hour_of_a_day'),
        ),
        migrations.AddConstraint(
            model_name='reminderpreference',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('quiet_from__isnull', True), ('quiet_to__isnull', True)), models.Q(('quiet_from__isnull', False), ('quiet_to__isnull', False), models.Q(('quiet_from', models.F('quiet_to')), _negated=True)), _connector='OR'), name='compliance_reminderpreference_quiet_between_two_times'),
        ),
        migrations.AddConstraint(
            model_name='reportrun',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'done'), _negated=True), models.Q(('pdf_sha256', ''), _negated=True), _connector='OR'), name='compliance_reportrun_done_has_files'),
        ),
        migrations.AddIndex(
            model_name='sweepchunk',
            index=models.Index(fields=['state', 'claimed_at'], name='compliance_sweepchunk_queue'),
        ),
        migrations.RunPython(put, drop),
    ]
