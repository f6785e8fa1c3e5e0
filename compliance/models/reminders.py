"""Reminders: one row for each thing owed or running out, milestone, recipient and channel."""

from django.conf import settings
from django.db import models

from compliance.models.outbox import OutboxMessage
from compliance.models.reminder_preferences import ReminderDigest
from jobs.models import Appliance, Cylinder, Instrument, Technician
from jobs.models.constraints import exactly_one

# What a reminder may be about, each by a column of its own.
ABOUT = ("appliance", "technician", "cylinder", "instrument")


class ReminderChannel(models.TextChoices):
    """How a reminder reaches its recipient."""

    EMAIL = "email", "E-mail"
    PORTAL = "portal", "In the portal"


class Reminder(OutboxMessage):
    """One reminder; the database allows no second one like it.

    What it is about is named by a key: of an obligation, whose row is a projection that may be rebuilt, or of what runs
    out, which is derived whenever it is asked for. It is an appliance's obligation, or else something of a technician,
    a cylinder or an instrument.
    """

    owed_key = models.CharField(max_length=160)
    appliance = models.ForeignKey(Appliance, on_delete=models.CASCADE, null=True, related_name="reminders")
    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, null=True, related_name="reminders")
    cylinder = models.ForeignKey(Cylinder, on_delete=models.CASCADE, null=True, related_name="reminders")
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, null=True, related_name="reminders")
    milestone = models.CharField(
        max_length=40, help_text="Such as 7 days before, 3 days overdue, or unacknowledged, 7 days before."
    )
    is_escalation = models.BooleanField(
        default=False, help_text="It tells the compliance officers that nobody acknowledged a reminder."
    )
    due_on = models.DateField()
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, related_name="reminders"
    )
    channel = models.CharField(max_length=10, choices=ReminderChannel.choices)
    subject = models.CharField(max_length=240)
    body = models.TextField()
    body_html = models.TextField(blank=True)
    read_at = models.DateTimeField(null=True)
    digest = models.ForeignKey(
        ReminderDigest,
        on_delete=models.SET_NULL,
        null=True,
        related_name="items",
        help_text="The digest that carries it, if it is no e-mail of its own.",
    )

    class Meta:
        ordering = ("-raised_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("owed_key", "due_on", "milestone", "recipient_email", "channel"),
                name="compliance_reminder_once",
            ),
            models.CheckConstraint(
                condition=exactly_one(*ABOUT), name="compliance_reminder_is_about_one_thing"
            ),
        )
        indexes = (models.Index(fields=("state", "claimed_at"), name="compliance_reminder_queue"),)

    def __str__(self) -> str:
        return self.subject
