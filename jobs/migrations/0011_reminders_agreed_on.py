"""Keeps since when a customer's contact is reminded with consent; customers of before since their history says so."""

import datetime

from django.db import migrations, models


def fill(apps, schema_editor):
    """The day of the change from which on the contact was reminded; today where no history tells of it."""
    customers = apps.get_model("jobs", "Customer").objects.using(schema_editor.connection.alias)
    histories = apps.get_model("jobs", "HistoricalCustomer").objects.using(schema_editor.connection.alias)
    for customer in customers.filter(is_reminded=True):
        since = None
        for row in histories.filter(id=customer.pk).order_by("history_date", "history_id"):
            since = (since or row.history_date.date()) if row.is_reminded else None
        customer.reminders_agreed_on = since or datetime.datetime.now(datetime.UTC).date()
        customer.save(update_fields=["reminders_agreed_on"])


def leave(apps, schema_editor):
    pass


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0010_receipt_differences'),
    ]

    operations = [
        migrations.AddField(
            model_name='customer',
            name='reminders_agreed_on',
            field=models.DateField(blank=True, help_text='The day on which the customer said so.', null=True, verbose_name='agreed to them on'),
        ),
        migrations.AddField(
            model_name='historicalcustomer',
            name='reminders_agreed_on',
            field=models.DateField(blank=True, help_text='The day on which the customer said so.', null=True, verbose_name='agreed to them on'),
        ),
        migrations.RunPython(fill, leave),
        migrations.AddConstraint(
            model_name='customer',
            constraint=models.CheckConstraint(condition=models.Q(('is_reminded', False), ('reminders_agreed_on__isnull', False), _connector='OR'), name='jobs_customer_is_reminded_since_a_day'),
        ),
    ]
