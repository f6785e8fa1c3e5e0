"""How a person wants to be reminded by e-mail, and the digests that were made of a person's reminders."""

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords

from compliance.models.outbox import OutboxMessage
from jobs.models.customers import validate_time_zone


class ReminderRhythm(models.TextChoices):
    """Whether each reminder is an e-mail of its own."""

    SINGLE = "single", "Each in an e-mail of its own"
    DIGEST = "digest", "All in one e-mail a day"


class ReminderPreference(models.Model):
    """One person's own choice; times are those on the clock in the person's time zone.

    Quiet hours begin at ``quiet_from`` and end before ``quiet_to``, which may be on the next day.
    """

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="reminder_preference"
    )
    rhythm = models.CharField(
        "reminders", max_length=10, choices=ReminderRhythm.choices, default=ReminderRhythm.SINGLE
    )
    digest_hour = models.PositiveSmallIntegerField("hour of the digest", default=7)
    quiet_from = models.TimeField(null=True, blank=True)
    quiet_to = models.TimeField(null=True, blank=True)
    time_zone = models.CharField(max_length=64, validators=[validate_time_zone])

    history = HistoricalRecords()

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(digest_hour__lte=23),
                name="compliance_reminderpreference_hour_of_a_day",
            ),
            models.CheckConstraint(
                condition=models.Q(quiet_from__isnull=True, quiet_to__isnull=True)
                | (
                    models.Q(quiet_from__isnull=False, quiet_to__isnull=False)
                    & ~models.Q(quiet_from=models.F("quiet_to"))
                ),
                name="compliance_reminderpreference_quiet_between_two_times",
            ),
        )

    def __str__(self) -> str:
        return f"{self.user}: {self.get_rhythm_display()}"


class ReminderDigest(OutboxMessage):
    """One e-mail with all that waited for a person at the hour of the digest; the database allows no second one."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    due_at = models.DateTimeField(help_text="The hour of the digest as an instant.")

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("user", "due_at"), name="compliance_reminderdigest_once"),
        )
        indexes = (models.Index(fields=("state", "claimed_at"), name="compliance_digest_queue"),)

    def __str__(self) -> str:
        return f"Digest for {self.recipient_email} of {self.due_at}"
