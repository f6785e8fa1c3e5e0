"""Reminders of what runs out: of certificates, cylinders and instruments, beside obligations of appliances."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers

# SQLite makes the table anew, and so loses its triggers.
FILED_TABLES = ("compliance_reminderacknowledgement",)


def put(apps, schema_editor):
    drop_triggers(schema_editor.connection, FILED_TABLES)
    put_triggers(schema_editor.connection, FILED_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0002_calendar_feeds'),
        ('jobs', '0002_what_runs_out'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='reminder',
            name='compliance_reminder_once',
        ),
        migrations.RemoveConstraint(
            model_name='reminderacknowledgement',
            name='compliance_reminderacknowledgement_once',
        ),
        migrations.RenameField(
            model_name='reminder',
            old_name='obligation_key',
            new_name='owed_key',
        ),
        migrations.RenameField(
            model_name='reminderacknowledgement',
            old_name='obligation_key',
            new_name='owed_key',
        ),
        migrations.AddField(
            model_name='reminder',
            name='cylinder',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='jobs.cylinder'),
        ),
        migrations.AddField(
            model_name='reminder',
            name='instrument',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='jobs.instrument'),
        ),
        migrations.AddField(
            model_name='reminder',
            name='technician',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='jobs.technician'),
        ),
        migrations.AlterField(
            model_name='reminder',
            name='appliance',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='jobs.appliance'),
        ),
        migrations.AddConstraint(
            model_name='reminder',
            constraint=models.UniqueConstraint(fields=('owed_key', 'due_on', 'milestone', 'recipient_email', 'channel'), name='compliance_reminder_once'),
        ),
        migrations.AddConstraint(
            model_name='reminder',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('appliance__isnull', False), ('cylinder__isnull', True), ('instrument__isnull', True), ('technician__isnull', True)), models.Q(('appliance__isnull', True), ('cylinder__isnull', True), ('instrument__isnull', True), ('technician__isnull', False)), models.Q(('appliance__isnull', True), ('cylinder__isnull', False), ('instrument__isnull', True), ('technician__isnull', True)), models.Q(('appliance__isnull', True), ('cylinder__isnull', True), ('instrument__isnull', False), ('technician__isnull', True)), _connector='OR'), name='compliance_reminder_is_about_one_thing'),
        ),
        migrations.AddConstraint(
            model_name='reminderacknowledgement',
            constraint=models.UniqueConstraint(fields=('owed_key', 'due_on', 'milestone', 'recipient_email'), name='compliance_reminderacknowledgement_once'),
        ),
        migrations.RunPython(put, put),
    ]
