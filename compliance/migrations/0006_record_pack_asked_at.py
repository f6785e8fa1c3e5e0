"""Packs keep when they were asked for, beside the instant as known at which they are."""

from django.db import migrations, models
from django.db.models import F


def asked_when_known(apps, schema_editor):
    """Packs could not be asked for as known earlier before."""
    apps.get_model('compliance', 'RecordPack').objects.update(asked_at=F('known_at'))


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0005_calendar_entries_of_what_runs_out'),
    ]

    operations = [
        migrations.AddField(
            model_name='recordpack',
            name='asked_at',
            field=models.DateTimeField(null=True),
        ),
        migrations.RunPython(asked_when_known, migrations.RunPython.noop),
        migrations.AlterField(
            model_name='recordpack',
            name='asked_at',
            field=models.DateTimeField(),
        ),
    ]
