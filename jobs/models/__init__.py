"""What happened in the field: the registers, the ledger and the filed records."""

from jobs.models.appliances import Appliance, ApplianceCategory, FullChargeMethod
from jobs.models.chain import ChainLink
from jobs.models.customers import Customer, Jurisdiction, LeakRateMethod, Site
from jobs.models.cylinders import Cylinder, CylinderKind, CylinderPlace
from jobs.models.events import OpeningKind, OwnerDecision, ServiceEvent, VacuumUnit, WorkKind, WorkOrigin
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
from jobs.models.instruments import (
    Calibration,
    Instrument,
    InstrumentKind,
    InstrumentUnit,
    MachineKind,
    RecoveryMachine,
)
from jobs.models.ledger import Holder, HolderKind, MassUnit, Transfer, TransferReason
from jobs.models.stock import StockMovement, StockMovementKind
from jobs.models.technicians import Certification, CertificationType, Technician

__all__ = [
    "Appliance",
    "ApplianceCategory",
    "Calibration",
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
    "Instrument",
    "InstrumentKind",
    "InstrumentUnit",
    "Jurisdiction",
    "Leak",
    "LeakFinding",
    "LeakInspection",
    "LeakRateMethod",
    "MachineKind",
    "MassUnit",
    "OpeningKind",
    "OwnerDecision",
    "RecoveryMachine",
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
