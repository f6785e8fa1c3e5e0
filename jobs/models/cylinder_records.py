"""Filed records of a cylinder's life beside its contents: moves, weighings, receipts, contamination, heels, periods."""

import uuid
from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from jobs.models.constraints import exactly_one
from jobs.models.customers import Site
from jobs.models.cylinders import Cylinder, CylinderPlace
from jobs.models.filed import FiledModel
from jobs.models.ledger import MassUnit, mass_as_typed
from jobs.models.stock import StockMovement
from jobs.models.technicians import Technician


class CylinderRecord(FiledModel):
    """One filed record about one cylinder; a mistaken one is withdrawn by a further record."""

    RECORD_KIND: ClassVar[str]
    # Columns that came after records had been filed; a hash covers them only where filled, so that older hashes stay.
    LATER_COLUMNS: ClassVar[frozenset[str]] = frozenset()

    submission_id = models.UUIDField(unique=True, default=uuid.uuid4)
    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="%(class)ss")
    happened_on = models.DateField()
    note = models.TextField(blank=True)
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True
        ordering = ("happened_on", "pk")

    def __str__(self) -> str:
        name = str(self._meta.verbose_name)
        return f"{name[:1].upper()}{name[1:]} of {self.cylinder} on {self.happened_on}"

    def canonical(self) -> dict[str, Any]:
        """What the record's hash covers: every field; one of ``LATER_COLUMNS`` only where it is filled."""
        fields = {
            field.attname: _plain(getattr(self, field.attname))
            for field in self._meta.concrete_fields
            if field.attname != "id"
            and not (field.attname in self.LATER_COLUMNS and getattr(self, field.attname) is None)
        }
        return {"record": self.RECORD_KIND, **fields}


class MoveReason(models.TextChoices):
    """Why a cylinder changed its place."""

    ACQUIRED = "acquired", "Came to us: bought, rented or exchanged"
    WORK = "work", "Taken where it is needed"
    SENT = "sent", "Sent away with its contents"
    CAME_BACK = "came_back", "Came back to us empty"
    RETURNED_EMPTY = "returned_empty", "Given back empty to whom it belongs"
    RETIRED = "retired", "Taken out of use for good"


class CylinderMove(CylinderRecord):
    """A cylinder changed its place; ``place_note`` says which van, site or firm, as the list shows it.

    ``movement`` is the shipment or sale that it went along with, where they were filed together.
    """

    RECORD_KIND = "cylinder_move"
    LATER_COLUMNS = frozenset({"movement_id"})

    reason = models.CharField(max_length=20, choices=MoveReason.choices, default=MoveReason.WORK)
    place = models.CharField(max_length=10, choices=CylinderPlace.choices)
    place_note = models.CharField(max_length=200, blank=True)
    technician = models.ForeignKey(
        Technician, on_delete=models.PROTECT, null=True, blank=True, related_name="+", help_text="Whose van."
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    moved_by = models.CharField(max_length=120, help_text="Who moved it.")
    from_place = models.CharField(max_length=10, choices=CylinderPlace.choices)
    from_place_note = models.CharField(max_length=200, blank=True)
    movement = models.OneToOneField(
        StockMovement, on_delete=models.PROTECT, null=True, blank=True, related_name="cylinder_move"
    )

    @property
    def where(self) -> str:
        """The place in words."""
        return place_in_words(self.place, self.place_note)

    @property
    def from_where(self) -> str:
        """The place before in words."""
        return place_in_words(self.from_place, self.from_place_note)


class CylinderWeighing(CylinderRecord):
    """A cylinder stood on a scale: gross mass, the scale's uncertainty, and what the books said then."""

    RECORD_KIND = "cylinder_weighing"

    gross_mg = models.BigIntegerField()
    gross_entered = models.CharField(max_length=40)
    gross_unit = models.CharField(max_length=10, choices=MassUnit.choices)
    uncertainty_mg = models.BigIntegerField(help_text="How far the scale may be off, either way.")
    tare_mg = models.BigIntegerField(help_text="The cylinder's tare on record when it was weighed.")
    scale = models.ForeignKey(
        "jobs.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="cylinder_weighings"
    )

    class Meta(CylinderRecord.Meta):
        constraints = (
            models.CheckConstraint(
                condition=models.Q(gross_mg__gt=0, uncertainty_mg__gte=0, tare_mg__gt=0),
                name="jobs_cylinderweighing_masses_above_zero",
            ),
        )

    @property
    def as_typed(self) -> str:
        """The gross mass in the words it was typed in."""
        return mass_as_typed(self.gross_entered, self.gross_unit)

    @property
    def net_mg(self) -> int:
        """Gross less tare: below zero if the scale or the tare is wrong."""
        return self.gross_mg - self.tare_mg


class ShipmentReceipt(CylinderRecord):
    """What a reclaimer or destruction facility says that it received of one shipment."""

    RECORD_KIND = "shipment_receipt"

    shipment = models.ForeignKey(StockMovement, on_delete=models.PROTECT, related_name="receipts")
    mass_mg = models.BigIntegerField()
    entered_value = models.CharField(max_length=40)
    entered_unit = models.CharField(max_length=10, choices=MassUnit.choices)
    document_number = models.CharField(max_length=80)

    @property
    def as_typed(self) -> str:
        """The mass in the words it was typed in."""
        return mass_as_typed(self.entered_value, self.entered_unit)


class Contamination(CylinderRecord):
    """A cylinder is marked as holding mixed or contaminated refrigerant; until emptied, nothing of it is used again."""

    RECORD_KIND = "contamination"

    refrigerants = models.JSONField(
        default=list, blank=True, help_text="Designations that are or may be in it."
    )
    finding = models.TextField(help_text="What was found, and how.")


class HeelDestination(models.TextChoices):
    """Where an emptied disposable cylinder, or its heel, went (40 CFR 84.116, from memory)."""

    RECLAIMER = "reclaimer", "Reclaimer"
    FINAL_PROCESSOR = "final_processor", "Final processor, for recycling of the metal"
    LANDFILL = "landfill", "Landfill operator"
    SUPPLIER = "supplier", "Supplier"


class HeelRemoval(CylinderRecord):
    """The remainder was taken out of a disposable cylinder before it is disposed of."""

    RECORD_KIND = "heel_removal"

    removed_by = models.ForeignKey(Technician, on_delete=models.PROTECT, related_name="+")
    level_in_hg_vacuum = models.DecimalField(max_digits=5, decimal_places=2)
    destination_kind = models.CharField(max_length=20, choices=HeelDestination.choices)
    destination_name = models.CharField(max_length=160)
    statement = models.TextField()
    movement = models.OneToOneField(
        StockMovement, on_delete=models.PROTECT, null=True, blank=True, related_name="heel_removal"
    )


class RequalificationPeriod(CylinderRecord):
    """The compliance officer's decision that another period holds for a cylinder, and why."""

    RECORD_KIND = "requalification"

    years = models.PositiveSmallIntegerField()
    reason = models.TextField()


class RequalificationMethod(models.TextChoices):
    """How a cylinder was tested (49 CFR 180.209(a), (e) and (g)); which way suits it is the requalifier's to say."""

    VOLUMETRIC_EXPANSION = "volumetric_expansion", "Volumetric expansion test"
    PROOF_PRESSURE = "proof_pressure", "Proof pressure test"
    EXTERNAL_VISUAL = "external_visual", "Complete external visual inspection (marked E)"


class RequalificationResult(models.TextChoices):
    """What a test came to."""

    PASSED = "passed", "Passed, and marked"
    CONDEMNED = "condemned", "Condemned"


class RequalificationTest(CylinderRecord):
    """A cylinder was tested by a requalifier, and passed or was condemned; the register's test date follows.

    ``former_requalified_on`` is the date that stood on the register before any test was on record.
    """

    RECORD_KIND = "requalification_test"

    method = models.CharField(max_length=24, choices=RequalificationMethod.choices)
    result = models.CharField(max_length=10, choices=RequalificationResult.choices)
    requalifier = models.CharField(max_length=160, help_text="The firm that tested it.")
    identification_number = models.CharField("RIN", max_length=20)
    test_pressure_psi = models.PositiveIntegerField("test pressure", null=True, blank=True)
    document_number = models.CharField(max_length=80, blank=True)
    reason = models.TextField(blank=True, help_text="Why it was condemned.")
    former_requalified_on = models.DateField(null=True, blank=True)

    @property
    def marking(self) -> str:
        """What a passed one is marked with: month, RIN and year, and E after an external visual inspection."""
        letter = " E" if self.method == RequalificationMethod.EXTERNAL_VISUAL else ""
        return f"{self.happened_on.month} {self.identification_number} {self.happened_on:%y}{letter}"


# Kinds of record that a withdrawal may name, each by a column of its own.
WITHDRAWABLE = (
    *("cylinder_move", "cylinder_weighing", "shipment_receipt", "contamination"),
    "requalification_test",
)


class Withdrawal(CylinderRecord):
    """A record that was filed by mistake counts no more; it stays readable. Exactly one of the records is named."""

    RECORD_KIND = "withdrawal"
    LATER_COLUMNS = frozenset({"requalification_test_id"})

    reason = models.TextField()
    cylinder_move = models.OneToOneField(
        CylinderMove, on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal"
    )
    cylinder_weighing = models.OneToOneField(
        CylinderWeighing, on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal"
    )
    shipment_receipt = models.OneToOneField(
        ShipmentReceipt, on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal"
    )
    contamination = models.OneToOneField(
        Contamination, on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal"
    )
    requalification_test = models.OneToOneField(
        RequalificationTest, on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal"
    )

    class Meta(CylinderRecord.Meta):
        constraints = (
            models.CheckConstraint(
                condition=exactly_one(*WITHDRAWABLE), name="jobs_withdrawal_names_one_record"
            ),
        )

    @property
    def withdrawn(self) -> CylinderRecord:
        """The record that it withdraws."""
        return next(record for name in WITHDRAWABLE if (record := getattr(self, name)))


def place_in_words(place: str, place_note: str) -> str:
    """A cylinder's place as people say it: which van, site or firm, or else the kind of place."""
    return place_note or CylinderPlace(place).label


def _plain(value: Any) -> Any:
    """Return ``value`` in JSON's own types; dates and instants as ISO 8601, decimals and ids as text."""
    if value is None or isinstance(value, bool | int | str | list):
        return value
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return f"{value.normalize():f}" if hasattr(value, "normalize") else str(value)
