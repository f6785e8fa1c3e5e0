"""What happened in the field: the registers, the ledger and the filed records."""

from jobs.models.appliances import Appliance, ApplianceCategory, FullChargeMethod
from jobs.models.chain import ChainLink
from jobs.models.customers import Customer, Jurisdiction, LeakRateMethod, Site
from jobs.models.cylinders import Cylinder, CylinderKind, CylinderPlace
from jobs.models.events import OwnerDecision, ServiceEvent, VacuumUnit, WorkKind, WorkOrigin
from jobs.models.findings import (
    Leak,
    LeakFinding,
    LeakInspection,
    Repair,
    Statement,
    StatementKind,
    VerificationKind,
    VerificationTest,
)
from jobs.models.ledger import Holder, HolderKind, MassUnit, Transfer, TransferReason
from jobs.models.stock import StockMovement, StockMovementKind
from jobs.models.technicians import Certification, CertificationType, Technician

__all__ = [
    "Appliance",
    "ApplianceCategory",
    "Certification",
    "CertificationType",
    "ChainLink",
    "Customer",
    "Cylinder",
    "CylinderKind",
    "CylinderPlace",
    "FullChargeMethod",
    "Holder",
    "HolderKind",
    "Jurisdiction",
    "Leak",
    "LeakFinding",
    "LeakInspection",
    "LeakRateMethod",
    "MassUnit",
    "OwnerDecision",
    "Repair",
    "ServiceEvent",
    "Site",
    "Statement",
    "StatementKind",
    "StockMovement",
    "StockMovementKind",
    "Technician",
    "Transfer",
    "TransferReason",
    "VacuumUnit",
    "VerificationKind",
    "VerificationTest",
    "WorkKind",
    "WorkOrigin",
]
