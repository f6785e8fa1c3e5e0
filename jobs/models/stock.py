"""Movements of stock that no service event makes: opening contents, purchases, shipments."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.cylinders import Cylinder
from jobs.models.filed import FiledModel
from jobs.models.technicians import CertificationType


class StockMovementKind(models.TextChoices):
    """What moved a cylinder's contents outside a service event."""

    OPENING = "opening", "Contents when the books began"
    PURCHASE = "purchase", "Bought from a supplier"
    RECLAMATION = "reclamation", "Sent for reclamation"
    DESTRUCTION = "destruction", "Sent for destruction"
    SALE = "sale", "Sold"
    HEEL = "heel", "Heel moved into another cylinder"
    ADJUSTMENT = "adjustment", "Books adjusted to the scale"
    RECEIPT_DIFFERENCE = "receipt_difference", "Difference to a receipt posted"
    REVERSAL = "reversal", "Reversal of a mistaken record"
    APPLIANCE_OPENING = "appliance_opening", "Appliance's charge when its books began"


SHIPMENTS: tuple[str, ...] = (StockMovementKind.RECLAMATION, StockMovementKind.DESTRUCTION)


class SupplyStatus(models.TextChoices):
    """What bought refrigerant is."""

    VIRGIN = "virgin", "New (virgin)"
    RECLAIMED = "reclaimed", "Reclaimed"
    RECYCLED = "recycled", "Recycled"


#: Bought refrigerant that was used before: a facility made it fit for use again.
USED_BEFORE: tuple[str, ...] = (SupplyStatus.RECLAIMED, SupplyStatus.RECYCLED)


class StockMovement(FiledModel):
    """A filed record of refrigerant that came into or left the firm's books; ``reverses`` undoes a mistaken one."""

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
    supply_status = models.CharField(max_length=10, choices=SupplyStatus.choices, blank=True)
    facility = models.CharField(
        "facility that reclaimed or recycled it, its name and address", max_length=300, blank=True
    )
    facility_certificate = models.CharField("certificate number of the facility", max_length=80, blank=True)
    consignee_address = models.CharField("address of the firm", max_length=300, blank=True)
    emergency_telephone = models.CharField(max_length=120, blank=True)
    weighing = models.OneToOneField(
        "jobs.CylinderWeighing", on_delete=models.PROTECT, null=True, blank=True, related_name="adjustment"
    )
    receipt = models.OneToOneField(
        "jobs.ShipmentReceipt", on_delete=models.PROTECT, null=True, blank=True, related_name="adjustment"
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("happened_on", "pk")
        permissions = (
            ("adjust_stock", "Can adjust the books to a scale or a receipt"),
            ("reconcile_stock", "Can see the monthly reconciliation"),
            ("reverse_stockmovement", "Can reverse a mistaken movement of stock"),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.happened_on}"

    @property
    def is_shipment(self) -> bool:
        """Whether it went to a reclaimer or a destruction facility, with a shipping paper."""
        return self.kind in SHIPMENTS

    @property
    def is_of_used(self) -> bool:
        """Whether what was bought had been used before, and was reclaimed or recycled."""
        return self.supply_status in USED_BEFORE

    def canonical(self) -> dict[str, Any]:
        """What the movement's hash covers; later columns only where filled, so that older hashes stay."""
        buyer = getattr(self, "buyer_proof", None)
        later = {
            "supply_status": self.supply_status,
            "facility": self.facility,
            "facility_certificate": self.facility_certificate,
            "consignee_address": self.consignee_address,
            "emergency_telephone": self.emergency_telephone,
            "weighing": self.weighing_id,
            "receipt": self.receipt_id,
            "reverses": self.reverses_id,
            "buyer": buyer.canonical() if buyer else None,
        }
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
            **{name: value for name, value in later.items() if value},
        }


class BuyerBasis(models.TextChoices):
    """Why refrigerant may be sold to a buyer (40 CFR 82.154(c)(1))."""

    CERTIFIED = "certified", "Is a certified technician"
    EMPLOYER = "employer", "Employs a certified technician"
    RESELLER = "reseller", "Buys for resale to such buyers"
    MANUFACTURER = "manufacturer", "Makes appliances"


class BuyerProof(FiledModel):
    """What was shown of a buyer when refrigerant was sold, kept with the sale (40 CFR 82.154(c))."""

    movement = models.OneToOneField(StockMovement, on_delete=models.PROTECT, related_name="buyer_proof")
    basis = models.CharField(max_length=20, choices=BuyerBasis.choices)
    technician_name = models.CharField("certified technician", max_length=120, blank=True)
    certification_type = models.CharField(max_length=20, choices=CertificationType.choices, blank=True)
    certification_number = models.CharField(max_length=60, blank=True)
    proof = models.TextField(blank=True, help_text="What was shown, and where the copy is kept.")

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.get_basis_display()

    def canonical(self) -> dict[str, Any]:
        """What the movement's hash covers of it."""
        return {
            "basis": self.basis,
            "technician": self.technician_name,
            "certification": [self.certification_type, self.certification_number],
            "proof": self.proof,
        }
