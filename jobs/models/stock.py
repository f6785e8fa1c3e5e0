"""Movements of stock that no service event makes: opening contents, purchases, shipments."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.cylinders import Cylinder
from jobs.models.filed import FiledModel


class StockMovementKind(models.TextChoices):
    """What moved a cylinder's contents outside a service event."""

    OPENING = "opening", "Contents when the books began"
    PURCHASE = "purchase", "Bought from a supplier"
    RECLAMATION = "reclamation", "Sent for reclamation"
    DESTRUCTION = "destruction", "Sent for destruction"
    APPLIANCE_OPENING = "appliance_opening", "Appliance's charge when its books began"


class StockMovement(FiledModel):
    """A filed record of refrigerant that came into or left the firm's books."""

    submission_id = models.UUIDField(unique=True, default=uuid.uuid4)
    kind = models.CharField(max_length=20, choices=StockMovementKind.choices)
    cylinder = models.ForeignKey(
        Cylinder, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_movements"
    )
    appliance = models.ForeignKey(
        "jobs.Appliance", on_delete=models.PROTECT, null=True, blank=True, related_name="stock_movements"
    )
    happened_on = models.DateField()
    document_number = models.CharField(max_length=80, blank=True)
    note = models.TextField(blank=True)
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("happened_on", "pk")

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.happened_on}"

    def canonical(self) -> dict[str, Any]:
        """What the movement's hash covers."""
        return {
            "record": "stock_movement",
            "submission_id": str(self.submission_id),
            "kind": self.kind,
            "cylinder": self.cylinder_id,
            "appliance": self.appliance_id,
            "happened_on": self.happened_on.isoformat(),
            "document_number": self.document_number,
            "note": self.note,
            "filed_at": self.filed_at.isoformat(),
            "filed_by": self.filed_by_id,
            "transfers": [
                row.canonical() for row in sorted(self.transfers.all(), key=lambda row: row.position)
            ],
        }
