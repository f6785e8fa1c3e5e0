"""Registers and filed records in Django's administration, for superusers: to read, never to write.

Registers are changed on their pages alone, whose services check them and keep their history.
"""

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from jobs.models import (
    Appliance,
    BuyerProof,
    Calibration,
    CaseFiling,
    Certification,
    ChainLink,
    ChainSeal,
    Contamination,
    Customer,
    Cylinder,
    CylinderMove,
    CylinderPressureCheck,
    CylinderWeighing,
    DocumentFile,
    FilingAttachment,
    FullChargeDetermination,
    HeelRemoval,
    Holder,
    Instrument,
    Leak,
    LeakFinding,
    LeakInspection,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    RecoveryMachine,
    Repair,
    RequalificationPeriod,
    RequalificationTest,
    SealedHead,
    ServiceEvent,
    ShipmentReceipt,
    Site,
    Statement,
    StockMovement,
    Technician,
    Transfer,
    VerificationTest,
    WeighLog,
    WeighLogFile,
    WeighLogReading,
    WeighLogUpload,
    Withdrawal,
)


class ReadOnlyAdmin(admin.ModelAdmin):
    """Shows rows; adding, changing and deleting are the services' alone, or nobody's."""

    list_select_related = True
    list_per_page = 50

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(ServiceEvent)
class ServiceEventAdmin(ReadOnlyAdmin):
    list_display = (
        "reference",
        "happened_on",
        "appliance",
        "technician",
        "supersedes",
        "is_void",
        "filed_at",
        "filed_by",
    )
    list_filter = ("origin", "is_void")
    search_fields = ("appliance__name", "appliance__site__customer__name", "work_done")
    date_hierarchy = "happened_on"


@admin.register(StockMovement)
class StockMovementAdmin(ReadOnlyAdmin):
    list_display = (
        "pk",
        "kind",
        "happened_on",
        "cylinder",
        "appliance",
        "document_number",
        "filed_at",
        "filed_by",
    )
    list_filter = ("kind",)
    search_fields = ("cylinder__serial_number", "appliance__name", "document_number")


@admin.register(Transfer)
class TransferAdmin(ReadOnlyAdmin):
    list_display = ("pk", "happened_on", "refrigerant", "mass_mg", "from_holder", "to_holder", "reverses_id")
    list_select_related = (
        *("from_holder__appliance", "from_holder__cylinder"),
        *("to_holder__appliance", "to_holder__cylinder"),
    )
    list_filter = ("refrigerant", "reason")


@admin.register(Holder)
class HolderAdmin(ReadOnlyAdmin):
    list_display = ("account", "kind", "name", "appliance", "cylinder")
    list_filter = ("kind",)
    search_fields = ("name", "appliance__name", "cylinder__serial_number")


@admin.register(ChainLink)
class ChainLinkAdmin(ReadOnlyAdmin):
    list_display = ("chain", "sequence", "record_kind", "record_id", "sha256")
    list_filter = ("record_kind",)
    search_fields = ("chain", "sha256")


@admin.register(ChainSeal)
class ChainSealAdmin(ReadOnlyAdmin):
    list_display = ("number", "sealed_at", "chain_count", "link_count", "sha256")
    search_fields = ("number", "sha256")


@admin.register(SealedHead)
class SealedHeadAdmin(ReadOnlyAdmin):
    list_display = ("chain", "sequence", "seal", "sha256")
    list_select_related = ("seal",)
    search_fields = ("chain", "sha256")


@admin.register(LeakInspection, LeakFinding, Repair, VerificationTest, Statement)
class EventLineAdmin(ReadOnlyAdmin):
    """The lines of a service event."""

    list_display = ("pk", "event", "__str__")
    list_select_related = ("event__appliance__site__customer",)
    search_fields = ("event__appliance__name", "event__appliance__site__customer__name")


@admin.register(Leak)
class LeakAdmin(ReadOnlyAdmin):
    list_display = ("appliance", "number")
    search_fields = ("appliance__name",)


@admin.register(BuyerProof)
class BuyerProofAdmin(ReadOnlyAdmin):
    list_display = ("movement", "basis", "technician_name", "certification_type", "certification_number")
    list_filter = ("basis",)
    search_fields = ("technician_name", "certification_number", "movement__document_number")


@admin.register(CylinderMove, CylinderWeighing, ShipmentReceipt, Contamination)
@admin.register(HeelRemoval, RequalificationPeriod, RequalificationTest)
class CylinderRecordAdmin(ReadOnlyAdmin):
    """The records of a cylinder's life."""

    list_display = ("pk", "happened_on", "cylinder", "note", "filed_at", "filed_by")
    list_select_related = ("cylinder", "filed_by")
    search_fields = ("cylinder__serial_number", "note")
    date_hierarchy = "happened_on"


@admin.register(Withdrawal)
class WithdrawalAdmin(CylinderRecordAdmin):
    list_display = ("pk", "happened_on", "cylinder", "withdrawn", "reason", "filed_at", "filed_by")
    list_select_related = (
        *("cylinder", "filed_by", "cylinder_move__cylinder", "cylinder_weighing__cylinder"),
        *("shipment_receipt__cylinder", "contamination__cylinder", "requalification_test__cylinder"),
    )


@admin.register(CylinderPressureCheck)
class CylinderPressureCheckAdmin(ReadOnlyAdmin):
    list_display = ("pk", "checked_on", "cylinder", "refrigerant", "verdict", "filed_at", "filed_by")
    list_filter = ("verdict",)
    search_fields = ("cylinder__serial_number",)


@admin.register(FullChargeDetermination)
class FullChargeDeterminationAdmin(ReadOnlyAdmin):
    list_display = (
        "pk",
        "determined_on",
        "appliance",
        "method",
        "refrigerant",
        "full_charge_mg",
        "filed_at",
        "filed_by",
    )
    list_select_related = ("appliance__site__customer", "filed_by")
    list_filter = ("method",)
    search_fields = ("appliance__name",)


@admin.register(WeighLog)
class WeighLogAdmin(ReadOnlyAdmin):
    list_display = ("pk", "name", "transfer_id", "file_id", "is_added_later", "attached_at", "attached_by")
    list_select_related = ("attached_by",)
    search_fields = ("name", "file__sha256")


@admin.register(WeighLogFile, DocumentFile)
class KeptBytesAdmin(ReadOnlyAdmin):
    list_display = ("sha256", "byte_count")
    search_fields = ("sha256",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        """Leave the bytes where they are: a log of two days is large."""
        return super().get_queryset(request).defer("compressed")


@admin.register(WeighLogUpload)
class WeighLogUploadAdmin(KeptBytesAdmin):
    list_display = ("id", "name", "owner", "uploaded_at", "byte_count")
    search_fields = ("name", "sha256")


@admin.register(WeighLogReading)
class WeighLogReadingAdmin(ReadOnlyAdmin):
    list_display = (
        "log_id",
        "engine_version",
        "net_mg",
        "uncertainty_mg",
        "difference_mg",
        "is_beyond_tolerance",
    )
    list_select_related = False
    list_filter = ("is_beyond_tolerance",)
    # Thousands of points each.
    exclude = ("curve",)


@admin.register(CaseFiling)
class CaseFilingAdmin(ReadOnlyAdmin):
    list_display = ("reference", "happened_on", "appliance", "kind", "is_void", "filed_at", "filed_by")
    list_select_related = ("appliance__site__customer", "filed_by")
    list_filter = ("kind", "is_void")
    search_fields = ("appliance__name",)
    date_hierarchy = "happened_on"


@admin.register(LeakRateMethodChange, LeakRateMethodCorrection)
class FacilityRecordAdmin(ReadOnlyAdmin):
    list_display = ("reference", "happened_on", "site", "method", "is_void", "filed_at", "filed_by")
    list_select_related = ("site__customer", "filed_by")
    list_filter = ("method", "is_void")
    search_fields = ("site__name", "site__customer__name")
    date_hierarchy = "happened_on"


@admin.register(FilingAttachment)
class FilingAttachmentAdmin(ReadOnlyAdmin):
    list_display = ("filing_id", "position", "name", "media_type", "file_id")
    list_select_related = False
    search_fields = ("name", "file__sha256")


@admin.register(Calibration)
class CalibrationAdmin(ReadOnlyAdmin):
    list_display = (
        "pk",
        "calibrated_on",
        "due_on",
        "instrument",
        "certificate_number",
        "is_void",
        "recorded_at",
        "recorded_by",
    )
    search_fields = ("instrument__serial_number", "certificate_number")


@admin.register(Customer)
class CustomerAdmin(ReadOnlyAdmin):
    list_display = ("name", "contact_name", "email", "is_sent_records", "is_reminded")
    search_fields = ("name", "contact_name", "email")


@admin.register(Site)
class SiteAdmin(ReadOnlyAdmin):
    list_display = ("name", "customer", "city", "jurisdiction", "leak_rate_method", "time_zone")
    list_filter = ("jurisdiction", "leak_rate_method")
    search_fields = ("name", "city", "customer__name")


@admin.register(Appliance)
class ApplianceAdmin(ReadOnlyAdmin):
    list_display = ("name", "site", "category", "refrigerant", "full_charge_mg", "installed_on")
    list_select_related = ("site__customer",)
    list_filter = ("category", "refrigerant")
    search_fields = ("name", "serial_number", "site__name", "site__customer__name")


@admin.register(Technician)
class TechnicianAdmin(ReadOnlyAdmin):
    list_display = ("full_name", "user", "is_apprentice", "is_active")
    search_fields = ("full_name",)


@admin.register(Certification)
class CertificationAdmin(ReadOnlyAdmin):
    list_display = ("technician", "type", "number", "issuer", "issued_on")
    list_filter = ("type",)
    search_fields = ("technician__full_name", "number")


@admin.register(Cylinder)
class CylinderAdmin(ReadOnlyAdmin):
    list_display = (
        "serial_number",
        "kind",
        "specification",
        "refrigerant",
        "place",
        "place_note",
        "requalified_on",
    )
    list_filter = ("kind", "place", "refrigerant")
    search_fields = ("serial_number", "place_note")


@admin.register(RecoveryMachine)
class RecoveryMachineAdmin(ReadOnlyAdmin):
    list_display = ("make", "model", "serial_number", "made_on", "certified_by", "is_in_use")
    search_fields = ("make", "model", "serial_number")


@admin.register(Instrument)
class InstrumentAdmin(ReadOnlyAdmin):
    list_display = ("kind", "make", "model", "serial_number", "is_in_use")
    list_filter = ("kind",)
    search_fields = ("make", "model", "serial_number")
