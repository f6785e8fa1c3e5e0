"""Calendars tell of what runs out too: their entries are named by the key of either."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('compliance', '0004_undecided_messages'),
    ]

    operations = [
        migrations.RenameField(
            model_name='calendarentry',
            old_name='obligation_key',
            new_name='owed_key',
        ),
    ]
