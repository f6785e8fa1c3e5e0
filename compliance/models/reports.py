"""Report runs: what was asked, with which law, how far it is, and the files that came out."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from compliance.models.work_orders import WorkOrder, WorkState
from jobs.models import Appliance, Customer, Site


class ReportKind(models.TextChoices):
    """The reports that the portal prints."""

    ANNUAL_LEAK_RATE = "annual_leak_rate", "Annual leak rate report"
    DISPOSAL = "disposal", "Disposal report"
    MASS_BALANCE = "mass_balance", "Mass balance and greenhouse gas inventory"
    EQUIPMENT_RECORD = "equipment_record", "Equipment record (EU and Great Britain)"
    CALIFORNIA = "california_annual", "California annual report figures"
    TECHNICIAN_ROSTER = "technician_roster", "Technician roster"
    CYLINDER_REGISTER = "cylinder_register", "Cylinder register"
    CHRONIC_LEAK_REPORT = "chronic_leak_report", "Chronic leak report"
    RETROFIT_OR_RETIREMENT_PLAN = "retrofit_or_retirement_plan", "Retrofit or retirement plan"
    EXTENSION_REQUEST = "extension_request", "Request for more time to repair or test"
    RELIEF_REQUEST = "relief_request", "Request for relief from a retrofit or retirement plan"
    PLAN_EXTENSION_REQUEST = "plan_extension_request", "Request for more time to retrofit or retire"

    @property
    def is_yearly(self) -> bool:
        """Whether it is about one calendar year, and not about all that is on record."""
        return self not in {
            ReportKind.EQUIPMENT_RECORD,
            ReportKind.CYLINDER_REGISTER,
            ReportKind.RETROFIT_OR_RETIREMENT_PLAN,
            ReportKind.EXTENSION_REQUEST,
            ReportKind.RELIEF_REQUEST,
            ReportKind.PLAN_EXTENSION_REQUEST,
        }


class ReportRun(WorkOrder):
    """One report that was asked for; its question, its figures and its PDF are kept, so that it can be read again.

    ``document`` holds the figures as compressed JSON: screen, CSV and XLSX of a kept run are written from it.
    """

    kind = models.CharField(max_length=40, choices=ReportKind.choices)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, null=True, blank=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, null=True, blank=True)
    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, null=True, blank=True)
    year = models.PositiveSmallIntegerField()
    options = models.JSONField(default=dict, blank=True)
    as_of = models.DateField()
    known_at = models.DateTimeField()
    rulebook_version = models.CharField(max_length=80, blank=True)
    run_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    run_at = models.DateTimeField()
    document = models.BinaryField(null=True)
    pdf = models.FileField(upload_to="reports/", blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ("-run_at",)
        constraints = (
            models.CheckConstraint(
                name="compliance_reportrun_done_has_files",
                condition=~Q(state=WorkState.DONE) | ~Q(pdf_sha256=""),
            ),
        )

    def __str__(self) -> str:
        is_yearly = self.kind not in ReportKind.values or ReportKind(self.kind).is_yearly
        return f"{self.get_kind_display()} {self.year}" if is_yearly else str(self.get_kind_display())
