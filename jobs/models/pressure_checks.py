"""Checks of a cylinder's pressure against its refrigerant's, for gases that don't condense."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.cylinders import Cylinder
from jobs.models.filed import FiledModel


class PressureVerdict(models.TextChoices):
    """What a check found; the physics' own values."""

    FITS = "fits", "No sign of non-condensable gases"
    RECHECK = "recheck", "Compare again after 24 hours"
    TOO_HIGH = "too_high", "Non-condensable gases, or another refrigerant"
    TOO_LOW = "too_low", "Another refrigerant, or no liquid left"
    NONE = "none", "No verdict"


class CylinderPressureCheck(FiledModel):
    """One check of a resting cylinder, with what was read, what was expected and why it says what it says."""

    submission_id = models.UUIDField(unique=True, default=uuid.uuid4)
    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="pressure_checks")
    checked_on = models.DateField()
    refrigerant = models.CharField(max_length=20)
    readings = models.JSONField(help_text="As typed: temperature, pressure, doubts, vapour drawn, altitude.")
    verdict = models.CharField(max_length=10, choices=PressureVerdict.choices)
    because = models.TextField()
    note = models.TextField(blank=True)
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("-checked_on", "-pk")

    def __str__(self) -> str:
        return f"Pressure check on {self.checked_on}: {self.get_verdict_display()}"

    def canonical(self) -> dict[str, Any]:
        """What the check's hash covers."""
        return {
            "record": "pressure_check",
            "submission_id": str(self.submission_id),
            "cylinder": self.cylinder_id,
            "checked_on": self.checked_on.isoformat(),
            "refrigerant": self.refrigerant,
            "readings": self.readings,
            "verdict": self.verdict,
            "because": self.because,
            "note": self.note,
            "filed_at": self.filed_at.isoformat(),
            "filed_by": self.filed_by_id,
        }
