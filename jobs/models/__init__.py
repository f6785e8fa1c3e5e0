"""What happened in the field: the registers, the ledger and the filed records."""

from jobs.models.appliances import Appliance, ApplianceCategory, FullChargeMethod
from jobs.models.case_filings import CaseFiling, DocumentFile, FilingAttachment
from jobs.models.chain import ChainLink
from jobs.models.customers import Customer, Jurisdiction, LeakRateMethod, Site
from jobs.models.cylinder_records import (
    Contamination,
    CylinderMove,
    CylinderRecord,
    CylinderWeighing,
    HeelDestination,
    HeelRemoval,
    MoveReason,
    RequalificationMethod,
    RequalificationPeriod,
    RequalificationResult,
    RequalificationTest,
    ShipmentReceipt,
    Withdrawal,
)
from jobs.models.cylinders import Cylinder, CylinderKind, CylinderPlace
from jobs.models.determinations import FullChargeDetermination
from jobs.models.events import OpeningKind, OwnerDecision, ServiceEvent, VacuumUnit, WorkKind, WorkOrigin
from jobs.models.findings import (
    FILED_APART,
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
from jobs.models.pressure_checks import CylinderPressureCheck, PressureVerdict
from jobs.models.stock import BuyerBasis, BuyerProof, StockMovement, StockMovementKind, SupplyStatus
from jobs.models.technicians import Certification, CertificationType, Technician
from jobs.models.weigh_logs import WeighLog, WeighLogFile, WeighLogReading, WeighLogUpload

__all__ = [
    "FILED_APART",
    "Appliance",
    "ApplianceCategory",
    "BuyerBasis",
    "BuyerProof",
    "Calibration",
    "CaseFiling",
    "Certification",
    "CertificationType",
    "ChainLink",
    "Contamination",
    "Customer",
    "Cylinder",
    "CylinderKind",
    "CylinderMove",
    "CylinderPlace",
    "CylinderPressureCheck",
    "CylinderRecord",
    "CylinderWeighing",
    "DocumentFile",
    "FilingAttachment",
    "FullChargeDetermination",
    "FullChargeMethod",
    "HeelDestination",
    "HeelRemoval",
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
    "MoveReason",
    "OpeningKind",
    "OwnerDecision",
    "PressureVerdict",
    "RecoveryMachine",
    "Repair",
    "RequalificationMethod",
    "RequalificationPeriod",
    "RequalificationResult",
    "RequalificationTest",
    "ServiceEvent",
    "ShipmentReceipt",
    "Site",
    "Statement",
    "StatementKind",
    "StockMovement",
    "StockMovementKind",
    "SupplyStatus",
    "Technician",
    "Transfer",
    "TransferReason",
    "VacuumUnit",
    "VerificationKind",
    "VerificationTest",
    "WeighLog",
    "WeighLogFile",
    "WeighLogReading",
    "WeighLogUpload",
    "Withdrawal",
    "WorkKind",
    "WorkOrigin",
]
