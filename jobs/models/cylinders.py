"""Cylinders: what refrigerant travels in, each with its tare and water capacity."""

from django.db import models
from simple_history.models import HistoricalRecords

from jobs.models.ledger import MassUnit


class CylinderKind(models.TextChoices):
    """What a cylinder is for; a disposable one is never filled (49 CFR 178.65)."""

    RECOVERY = "recovery", "Recovery cylinder"
    REFILLABLE = "refillable", "Refillable supply cylinder"
    DISPOSABLE = "disposable", "Disposable cylinder"


class CylinderPlace(models.TextChoices):
    """Where a cylinder is."""

    SHOP = "shop", "Shop"
    VAN = "van", "Van"
    SITE = "site", "Customer's site"
    AWAY = "away", "Supplier, reclaimer or other firm"


class Cylinder(models.Model):
    """One cylinder as registered; what it holds is the sum of its transfers."""

    serial_number = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=20, choices=CylinderKind.choices, default=CylinderKind.RECOVERY)
    specification = models.CharField(max_length=40, help_text="As stamped on the collar, such as DOT-4BA400.")
    water_capacity_mg = models.BigIntegerField("water capacity")
    water_capacity_entered = models.CharField(max_length=40)
    water_capacity_unit = models.CharField(max_length=10, choices=MassUnit.choices, default=MassUnit.LB)
    tare_mg = models.BigIntegerField("tare")
    tare_entered = models.CharField(max_length=40)
    tare_unit = models.CharField(max_length=10, choices=MassUnit.choices, default=MassUnit.LB)
    requalified_on = models.DateField(
        "last requalified (or made) on",
        null=True,
        blank=True,
        help_text="The test date stamped on the cylinder.",
    )
    requalification_period_years = models.PositiveSmallIntegerField(
        default=5,
        help_text="Five years for recovery cylinders unless the officer records why (49 CFR 180.209).",
    )
    refrigerant = models.CharField(
        "dedicated to", max_length=20, blank=True, help_text="ASHRAE 34 designation; empty while undecided."
    )
    place = models.CharField(max_length=10, choices=CylinderPlace.choices, default=CylinderPlace.SHOP)
    place_note = models.CharField("which van, site or firm", max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("serial_number",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(water_capacity_mg__gt=0, tare_mg__gt=0),
                name="jobs_cylinder_masses_above_zero",
            ),
        )

    def __str__(self) -> str:
        return self.serial_number
