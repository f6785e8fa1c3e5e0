"""Keeps what reading an upload came to beside it, so that its file is read once."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0014_recycled_refrigerant'),
    ]

    operations = [
        migrations.AddField(
            model_name='weighlogupload',
            name='outcomes',
            field=models.JSONField(blank=True, default=dict, help_text='What reading it came to, by what was asked and answered.'),
        ),
    ]
