"""What the law makes of the records, with reminders, reports and packs, in Django's administration: to read only."""

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from compliance.models import (
    ApplianceAssessment,
    ApplianceForecast,
    AssessmentSweep,
    CalendarEntry,
    CalendarFeed,
    LeakRate,
    Obligation,
    ObligationAssignment,
    RecordDelivery,
    RecordPack,
    Reminder,
    ReminderAcknowledgement,
    ReminderDigest,
    ReminderPlan,
    ReminderPreference,
    ReportRun,
    SweepChunk,
    TaskRun,
)
from jobs.admin import ReadOnlyAdmin


@admin.register(ApplianceAssessment)
class ApplianceAssessmentAdmin(ReadOnlyAdmin):
    list_display = ("appliance", "as_of", "rulebook_version", "tables_version", "assessed_at")
    list_select_related = ("appliance__site__customer",)
    search_fields = ("appliance__name",)


@admin.register(ApplianceForecast)
class ApplianceForecastAdmin(ReadOnlyAdmin):
    list_display = ("appliance", "as_of", "next_on", "usual_mg", "rate_pct", "threshold_pct", "missing")
    list_select_related = ("appliance__site__customer",)
    search_fields = ("appliance__name",)


@admin.register(AssessmentSweep)
class AssessmentSweepAdmin(ReadOnlyAdmin):
    list_display = ("started_at", "finished_at", "stale_count")


@admin.register(SweepChunk)
class SweepChunkAdmin(ReadOnlyAdmin):
    list_display = ("sweep", "first_appliance_id", "last_appliance_id", "state", "total_count")
    list_select_related = ("sweep",)
    list_filter = ("state",)


@admin.register(LeakRate)
class LeakRateAdmin(ReadOnlyAdmin):
    list_display = ("on", "appliance", "rule", "method", "rate_pct", "threshold_pct", "exceeds")
    list_select_related = ("appliance__site__customer",)
    list_filter = ("rule", "exceeds")
    search_fields = ("appliance__name",)


@admin.register(Obligation)
class ObligationAdmin(ReadOnlyAdmin):
    list_display = ("appliance", "rule", "kind", "opened_on", "due_on", "status", "met_on", "is_confirmed")
    list_select_related = ("appliance__site__customer",)
    list_filter = ("rule", "kind", "status")
    search_fields = ("appliance__name", "key")


@admin.register(ObligationAssignment)
class ObligationAssignmentAdmin(ReadOnlyAdmin):
    list_display = ("obligation_key", "appliance", "technician", "user", "assigned_at", "assigned_by")
    list_select_related = ("appliance__site__customer", "technician", "user", "assigned_by")
    search_fields = ("obligation_key", "appliance__name")


@admin.register(ReminderPlan)
class ReminderPlanAdmin(ReadOnlyAdmin):
    list_display = ("kind", "effective_from", "days_before", "reason", "decided_at", "decided_by")


@admin.register(ReminderPreference)
class ReminderPreferenceAdmin(ReadOnlyAdmin):
    list_display = ("user", "rhythm", "digest_hour", "quiet_from", "quiet_to", "time_zone")


@admin.register(CalendarFeed)
class CalendarFeedAdmin(ReadOnlyAdmin):
    list_display = ("user", "made_at", "last_read_at")
    list_select_related = ("user",)
    exclude = ("key",)


@admin.register(CalendarEntry)
class CalendarEntryAdmin(ReadOnlyAdmin):
    list_display = ("owed_key", "due_on", "revision", "changed_at")
    search_fields = ("owed_key",)


@admin.register(ReminderAcknowledgement)
class ReminderAcknowledgementAdmin(ReadOnlyAdmin):
    list_display = ("acknowledged_at", "recipient_email", "due_on", "milestone", "way", "note")
    list_filter = ("way",)
    search_fields = ("recipient_email", "owed_key")


@admin.register(ReminderDigest)
class ReminderDigestAdmin(ReadOnlyAdmin):
    list_display = ("due_at", "recipient_email", "state", "sent_at", "attempts")
    list_filter = ("state",)
    search_fields = ("recipient_email",)


@admin.register(Reminder)
class ReminderAdmin(ReadOnlyAdmin):
    list_display = ("due_on", "owed_key", "milestone", "channel", "recipient_email", "state", "sent_at")
    list_select_related = False
    list_filter = ("channel", "state")
    search_fields = ("recipient_email", "subject", "owed_key")


@admin.register(RecordDelivery)
class RecordDeliveryAdmin(ReadOnlyAdmin):
    list_display = ("pk", "event_id", "recipient_email", "state", "raised_at", "sent_at", "pdf_sha256")
    list_select_related = False
    list_filter = ("state",)
    search_fields = ("recipient_email", "pdf_sha256")
    # Kept files are given out on their own pages, to who may have them.
    exclude = ("pdf",)


@admin.register(ReportRun)
class ReportRunAdmin(ReadOnlyAdmin):
    list_display = ("pk", "kind", "customer", "site", "year", "as_of", "state", "run_at", "run_by")
    list_select_related = ("customer", "site", "run_by")
    list_filter = ("kind", "state")
    search_fields = ("pdf_sha256",)
    exclude = ("pdf", "document")

    def get_queryset(self, request: HttpRequest) -> QuerySet[ReportRun]:
        """Leave the figures where they are: a long report's are large."""
        return super().get_queryset(request).defer("document")


@admin.register(RecordPack)
class RecordPackAdmin(ReadOnlyAdmin):
    list_display = ("pk", "customer", "site", "happened_from", "happened_to", "state", "known_at", "asked_by")
    list_select_related = ("customer", "site", "asked_by")
    list_filter = ("state",)
    search_fields = ("file_sha256", "manifest_sha256")
    exclude = ("file",)


@admin.register(TaskRun)
class TaskRunAdmin(ReadOnlyAdmin):
    list_display = ("name", "started_at", "finished_at", "has_failed")
