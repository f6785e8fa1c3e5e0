"""Who acknowledged a reminder, when and by which way."""

from django.conf import settings
from django.db import models

from jobs.models.filed import FiledModel


class AcknowledgementWay(models.TextChoices):
    """By which way somebody acknowledged."""

    PORTAL = "portal", "In the portal"
    LINK = "link", "By the link in the e-mail"


class ReminderAcknowledgement(FiledModel):
    """One person's word that they know of what they were reminded of.

    It stands for every reminder that the person had of the same thing and due date by then; who doesn't sign in is a
    customer's contact.
    """

    owed_key = models.CharField(max_length=160)
    due_on = models.DateField()
    milestone = models.CharField(max_length=40, help_text="Of the reminder that was acknowledged.")
    recipient_email = models.EmailField()
    recipient_name = models.CharField(max_length=120, blank=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    acknowledged_at = models.DateTimeField()
    way = models.CharField(max_length=10, choices=AcknowledgementWay.choices)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("-acknowledged_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("owed_key", "due_on", "milestone", "recipient_email"),
                name="compliance_reminderacknowledgement_once",
            ),
        )

    def __str__(self) -> str:
        return f"{self.recipient_name or self.recipient_email} at {self.acknowledged_at}"
