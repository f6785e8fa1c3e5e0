"""What refrigerant is recovered and measured with: recovery machines, scales, gauges, detectors, and calibrations."""

import datetime

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords

from jobs.models.filed import FiledModel


class MachineKind(models.TextChoices):
    """The two kinds of recovery equipment of 40 CFR 82.152."""

    SELF_CONTAINED = "self_contained", "Self-contained"
    SYSTEM_DEPENDENT = "system_dependent", "System-dependent (the appliance's own pressure does the work)"


class RecoveryMachine(models.Model):
    """A machine that takes refrigerant out of appliances; the day it was made decides how deep it must evacuate."""

    make = models.CharField(max_length=80)
    model = models.CharField(max_length=80)
    serial_number = models.CharField(max_length=60, unique=True)
    made_on = models.DateField(
        "manufactured on",
        help_text="From its plate. It decides the evacuation level (40 CFR 82.156(a), table 1). "
        "The first of the month if the plate gives no day.",
    )
    certified_by = models.CharField(
        "certified by",
        max_length=120,
        blank=True,
        help_text="The testing organization on its label (40 CFR 82.158). Without one it is not certified.",
    )
    certified_for = models.CharField(
        "certified for",
        max_length=120,
        blank=True,
        help_text="As the label says, such as high- and medium-pressure refrigerants.",
    )
    kind = models.CharField(max_length=20, choices=MachineKind.choices, default=MachineKind.SELF_CONTAINED)
    is_pump_out_unit = models.BooleanField(
        "permanently attached to an appliance as its pump-out unit", default=False
    )
    is_in_use = models.BooleanField("in use", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("make", "model", "serial_number")

    def __str__(self) -> str:
        return f"{self.make} {self.model} no. {self.serial_number}"

    @property
    def is_system_dependent(self) -> bool:
        return self.kind == MachineKind.SYSTEM_DEPENDENT


class InstrumentKind(models.TextChoices):
    """What an instrument measures with."""

    SCALE = "scale", "Scale"
    PRESSURE_GAUGE = "pressure_gauge", "Pressure gauge or manifold"
    VACUUM_GAUGE = "vacuum_gauge", "Vacuum gauge"
    LEAK_DETECTOR = "leak_detector", "Leak detector"


GAUGE_KINDS = (InstrumentKind.PRESSURE_GAUGE, InstrumentKind.VACUUM_GAUGE)


class InstrumentUnit(models.TextChoices):
    """Units in which instruments are divided."""

    G = "g", "g"
    KG = "kg", "kg"
    OZ = "oz", "oz"
    LB = "lb", "lb"
    MICRON = "micron", "micron"
    IN_HG = "inHg", "in Hg"
    PSI = "psi", "psi"
    KPA = "kPa", "kPa"
    G_A_YEAR = "g/yr", "g/yr"
    OZ_A_YEAR = "oz/yr", "oz/yr"
    PPM = "ppm", "ppm"


DETECTOR_UNITS = (InstrumentUnit.G_A_YEAR, InstrumentUnit.OZ_A_YEAR, InstrumentUnit.PPM)
MASS_UNITS = (InstrumentUnit.G, InstrumentUnit.KG, InstrumentUnit.OZ, InstrumentUnit.LB)


class Instrument(models.Model):
    """A scale, a gauge or a leak detector as registered; a detector's division is the smallest leak that it shows.

    ``division_mg`` and ``accuracy_mg`` are those of a scale in whole milligrams; the others have none. The accuracy is
    the maker's plus or minus: a fixed one in the unit of the division, a share of the reading in percent, or both.
    """

    kind = models.CharField(max_length=20, choices=InstrumentKind.choices)
    make = models.CharField(max_length=80)
    model = models.CharField(max_length=80, blank=True)
    serial_number = models.CharField(max_length=60, unique=True)
    division_entered = models.CharField("division", max_length=20)
    division_unit = models.CharField("unit", max_length=10, choices=InstrumentUnit.choices)
    division_mg = models.BigIntegerField("division of a scale", null=True, blank=True)
    accuracy_entered = models.CharField("accuracy, plus or minus", max_length=20, blank=True)
    accuracy_mg = models.BigIntegerField("accuracy of a scale", null=True, blank=True)
    accuracy_pct = models.DecimalField(
        "accuracy, percent of the reading", max_digits=5, decimal_places=3, null=True, blank=True
    )
    calibration_interval_months = models.PositiveSmallIntegerField(
        "calibrated every (months)",
        default=12,
        help_text="As its maker or your quality system asks; the law sets none for it.",
    )
    is_in_use = models.BooleanField("in use", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("kind", "serial_number")
        constraints = (
            models.CheckConstraint(
                condition=(
                    models.Q(kind="scale", division_mg__gt=0)
                    | (~models.Q(kind="scale") & models.Q(division_mg__isnull=True, accuracy_mg__isnull=True))
                ),
                name="jobs_instrument_scale_has_a_division_of_mass",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.serial_number}"

    @property
    def is_scale(self) -> bool:
        return self.kind == InstrumentKind.SCALE

    @property
    def division(self) -> str:
        """The division as it is written, such as 2 g."""
        return f"{self.division_entered} {self.get_division_unit_display()}"

    @property
    def accuracy(self) -> str:
        """The maker's accuracy as it is written; nothing where none is given."""
        parts = []
        if self.accuracy_entered:
            parts.append(f"± {self.accuracy_entered} {self.get_division_unit_display()}")
        if self.accuracy_pct is not None:
            parts.append(f"± {self.accuracy_pct.normalize():f} % of the reading")
        return " or ".join(parts)


class Calibration(FiledModel):
    """One calibration of an instrument, written once; a mistake in it is corrected by a later row."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="calibrations")
    calibrated_on = models.DateField()
    due_on = models.DateField("next due on", help_text="The last day on which it counts as calibrated.")
    certificate_number = models.CharField(max_length=60)
    calibrated_by = models.CharField("calibrated by", max_length=120)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    correction_reason = models.CharField(max_length=240, blank=True)
    is_void = models.BooleanField(
        default=False, help_text="The correction says that the calibration never took place."
    )

    class Meta:
        ordering = ("-calibrated_on", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(due_on__gte=models.F("calibrated_on")),
                name="jobs_calibration_due_after_it_was_done",
            ),
        )

    def __str__(self) -> str:
        return f"no. {self.certificate_number} of {self.calibrated_on}"

    def holds_on(self, day: datetime.date) -> bool:
        """Whether the instrument counts as calibrated by it on a day."""
        return self.calibrated_on <= day <= self.due_on
