"""How the full charge of an appliance was determined, each time that it was: what 40 CFR 82.157(l)(1) keeps."""

from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.appliances import Appliance, FullChargeMethod
from jobs.models.filed import FiledModel
from jobs.models.ledger import MassUnit


class FullChargeDetermination(FiledModel):
    """One determination of a full charge: figure, method and all that it rests on."""

    appliance = models.ForeignKey(
        Appliance, on_delete=models.PROTECT, related_name="full_charge_determinations"
    )
    determined_on = models.DateField()
    method = models.CharField(max_length=20, choices=FullChargeMethod.choices)
    refrigerant = models.CharField(max_length=20)
    full_charge_mg = models.BigIntegerField()
    full_charge_entered = models.CharField(max_length=40)
    full_charge_unit = models.CharField(max_length=10, choices=MassUnit.choices)
    lowest_mg = models.BigIntegerField(
        null=True, blank=True, help_text="The lower end of an established range, or of an estimate."
    )
    highest_mg = models.BigIntegerField(
        null=True, blank=True, help_text="The upper end of an established range, or of an estimate."
    )
    derivation = models.TextField(blank=True)
    inputs = models.JSONField(
        default=dict,
        blank=True,
        help_text="Of a calculation: parts, conditions, model, result. Of a range: as typed.",
    )
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("-determined_on", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(full_charge_mg__gt=0),
                name="jobs_fullchargedetermination_charge_above_zero",
            ),
        )

    def __str__(self) -> str:
        return f"Full charge determined on {self.determined_on}"

    def canonical(self) -> dict[str, Any]:
        """What the determination's hash covers."""
        return {
            "record": "full_charge",
            "appliance": self.appliance_id,
            "determined_on": self.determined_on.isoformat(),
            "method": self.method,
            "refrigerant": self.refrigerant,
            "full_charge_mg": self.full_charge_mg,
            "full_charge_entered": self.full_charge_entered,
            "full_charge_unit": self.full_charge_unit,
            "lowest_mg": self.lowest_mg,
            "highest_mg": self.highest_mg,
            "derivation": self.derivation,
            "inputs": self.inputs,
            "filed_at": self.filed_at.isoformat(),
            "filed_by": self.filed_by_id,
        }
