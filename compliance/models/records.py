"""Service records handed to customers by e-mail: one row for each record, recipient and sending."""

from django.conf import settings
from django.db import models

from compliance.models.outbox import OutboxMessage
from jobs.models import ServiceEvent


class RecordDelivery(OutboxMessage):
    """One sending of one service record to one recipient, with the PDF as it went out.

    ``sending`` is 1 for the one that filing starts; each one that somebody asks for later has the next number.
    """

    event = models.ForeignKey(ServiceEvent, on_delete=models.PROTECT, related_name="deliveries")
    sending = models.PositiveSmallIntegerField(default=1)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="Who asked for it; nobody, where filing did.",
    )
    pdf = models.FileField(upload_to="records/", blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        verbose_name_plural = "record deliveries"
        ordering = ("raised_at", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("event", "recipient_email", "sending"), name="compliance_recorddelivery_once"
            ),
        )
        indexes = (models.Index(fields=("state", "claimed_at"), name="compliance_delivery_queue"),)

    def __str__(self) -> str:
        return f"{self.event} to {self.recipient_email}"
