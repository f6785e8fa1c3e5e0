"""Appliances: each independent refrigerant circuit is one (40 CFR 82.152)."""

from django.db import models
from simple_history.models import HistoricalRecords

from jobs.models.customers import Site
from jobs.models.ledger import MassUnit
from jobs.models.technicians import Technician


class ApplianceCategory(models.TextChoices):
    """The categories that leak rate thresholds tell apart (40 CFR 82.157(c), 84.106(c))."""

    COMFORT_COOLING = "comfort_cooling", "Comfort cooling"
    COMMERCIAL_REFRIGERATION = "commercial_refrigeration", "Commercial refrigeration"
    INDUSTRIAL_PROCESS_REFRIGERATION = "industrial_process_refrigeration", "Industrial process refrigeration"
    REFRIGERATED_TRANSPORT = "refrigerated_transport", "Refrigerated transport"
    OTHER = "other", "Other"


class FullChargeMethod(models.TextChoices):
    """How the full charge was determined (the four methods of 40 CFR 82.152)."""

    MANUFACTURER = "manufacturer", "Manufacturer's figure"
    CALCULATION = "calculation", "Calculation from components and piping"
    MEASUREMENT = "measurement", "Measurement of refrigerant added or evacuated"
    ESTABLISHED_RANGE = "established_range", "Established range (its midpoint)"
    COMBINATION = "combination", "Combination of methods"


class Appliance(models.Model):
    """One refrigerant circuit as registered; later changes of its charge are filed records."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="appliances")
    name = models.CharField(max_length=120, help_text="What people on site call it, such as Rack A.")
    serial_number = models.CharField(max_length=80, blank=True)
    location = models.CharField("location at the site", max_length=160, blank=True)
    category = models.CharField(max_length=40, choices=ApplianceCategory.choices)
    refrigerant = models.CharField(max_length=20, help_text="ASHRAE 34 designation, such as R-410A.")
    full_charge_mg = models.BigIntegerField("full charge")
    full_charge_entered = models.CharField("full charge as entered", max_length=40)
    full_charge_unit = models.CharField(max_length=10, choices=MassUnit.choices, default=MassUnit.LB)
    full_charge_method = models.CharField(
        "how the full charge was determined", max_length=20, choices=FullChargeMethod.choices
    )
    full_charge_note = models.TextField(
        "derivation",
        blank=True,
        help_text="For a range: its ends and how they were derived (40 CFR 82.157(l)(1), 84.106(l)(1)).",
    )
    installed_on = models.DateField()
    registered_on = models.DateField(help_text="The day its books begin.")
    is_residential_or_light_commercial = models.BooleanField(
        "residential or light commercial air conditioning or heat pump", default=False
    )
    subsector_reason = models.CharField(
        "why it counts as residential or light commercial",
        max_length=240,
        blank=True,
        help_text="A person decides this and says why; it is never derived from charge or category.",
    )
    is_hermetically_sealed = models.BooleanField("factory charged and hermetically sealed", default=False)
    is_mvac_like = models.BooleanField(
        "cab cooling of an off-road vehicle, with an open-drive compressor (MVAC-like)", default=False
    )
    is_enclosed = models.BooleanField("inside an enclosed building or structure", default=False)
    technician = models.ForeignKey(
        Technician,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="appliances",
        verbose_name="responsible technician",
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ("site__customer__name", "site__name", "name")
        constraints = (
            models.UniqueConstraint(fields=("site", "name"), name="jobs_appliance_name_once_a_site"),
            models.CheckConstraint(
                condition=models.Q(full_charge_mg__gt=0), name="jobs_appliance_full_charge_above_zero"
            ),
        )

    def __str__(self) -> str:
        return self.name
