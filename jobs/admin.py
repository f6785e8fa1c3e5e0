"""Filed records in Django's administration, for superusers: to read, never to write."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from jobs.models import ChainLink, Holder, ServiceEvent, StockMovement, Transfer


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
