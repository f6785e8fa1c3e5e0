"""What a visit found and did about leaks: inspections, leaks, repairs, verification tests."""

from typing import Any

from django.db import models

from compliance.rulebook.filings.specs import FilingKind
from jobs.models.appliances import Appliance
from jobs.models.events import ServiceEvent
from jobs.models.filed import FiledModel


class Leak(FiledModel):
    """The identity of one leak of an appliance; where it is stands in its findings."""

    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="leaks")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("appliance", "number")
        constraints = (
            models.UniqueConstraint(
                fields=("appliance", "number"), name="jobs_leak_number_once_an_appliance"
            ),
        )

    def __str__(self) -> str:
        return f"Leak {self.number}"


class LeakInspection(FiledModel):
    """A leak inspection done on a visit (40 CFR 82.157(g), 84.106(g))."""

    event = models.OneToOneField(ServiceEvent, on_delete=models.PROTECT, related_name="leak_inspection")
    methods = models.CharField(max_length=240, help_text="Electronic detector, bubble test, ultrasonic …")
    is_complete = models.BooleanField("all visible and accessible parts were inspected", default=True)
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"Leak inspection: {self.methods}"

    def canonical(self) -> dict[str, Any]:
        """What the hash of its event covers of it."""
        return {"methods": self.methods, "is_complete": self.is_complete, "note": self.note}


class LeakFinding(FiledModel):
    """Where a leak is, as stated on one visit."""

    event = models.ForeignKey(ServiceEvent, on_delete=models.PROTECT, related_name="leak_findings")
    leak = models.ForeignKey(Leak, on_delete=models.PROTECT, related_name="findings")
    part = models.CharField(max_length=120, help_text="The leaking part, such as liquid line filter drier.")
    location = models.CharField(max_length=160)

    class Meta:
        ordering = ("leak__number", "pk")

    def __str__(self) -> str:
        return f"{self.leak}: {self.part}, {self.location}"

    def canonical(self) -> dict[str, Any]:
        """What the hash of its event covers of it."""
        return {
            "leak": self.leak_id,
            "number": self.leak.number,
            "part": self.part,
            "location": self.location,
        }


class Repair(FiledModel):
    """A repair of one leak."""

    event = models.ForeignKey(ServiceEvent, on_delete=models.PROTECT, related_name="repairs")
    leak = models.ForeignKey(Leak, on_delete=models.PROTECT, related_name="repairs")
    work_done = models.CharField(max_length=240)
    is_evacuated = models.BooleanField(
        "the appliance or the isolated part was evacuated for it", default=False
    )

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"Repair of {self.leak}"

    def canonical(self) -> dict[str, Any]:
        """What the hash of its event covers of it."""
        return {"leak": self.leak_id, "work_done": self.work_done, "is_evacuated": self.is_evacuated}


class VerificationKind(models.TextChoices):
    """The two verification tests of 40 CFR 82.157(e) and 84.106(e); the rulebook's own values."""

    INITIAL = "initial_verification_test", "Initial verification test"
    FOLLOW_UP = "follow_up_verification_test", "Follow-up verification test"


class VerificationTest(FiledModel):
    """A verification test of one repaired leak."""

    event = models.ForeignKey(ServiceEvent, on_delete=models.PROTECT, related_name="verification_tests")
    leak = models.ForeignKey(Leak, on_delete=models.PROTECT, related_name="verification_tests")
    kind = models.CharField(max_length=30, choices=VerificationKind.choices)
    method = models.CharField(max_length=120)
    is_passed = models.BooleanField("passed")

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.leak}: {'passed' if self.is_passed else 'failed'}"

    def canonical(self) -> dict[str, Any]:
        """What the hash of its event covers of it."""
        return {"leak": self.leak_id, "kind": self.kind, "method": self.method, "is_passed": self.is_passed}


class StatementKind(models.TextChoices):
    """Further facts that a record may state; values are the rulebook's kinds of fact."""

    NORMAL_OPERATION = "normal_operation", "Back to normal operating conditions"
    SHUTDOWN_REQUIRED = "industrial_process_shutdown_required", "Repair needs an industrial process shutdown"
    MOTHBALLED = "mothballed", "Mothballed"
    RETURNED_TO_SERVICE = "returned_to_service", "Returned to service"
    FULL_CHARGE_CHANGE = "full_charge_change", "Full charge changed"
    RETROFIT_OR_RETIREMENT_ELECTED = "retrofit_or_retirement_elected", "Retrofit or retirement chosen"
    RETROFIT_OR_RETIREMENT_PLAN = "retrofit_or_retirement_plan", "Retrofit or retirement plan made"
    RETROFITTED = "retrofitted", "Retrofitted"
    RETIRED = "retired", "Retired"
    CHRONIC_LEAK_REPORT_FILED = "chronic_leak_report_filed", "Chronic leak report sent"
    ANNUAL_REPORT_FILED = "annual_report_filed", "Annual report sent to the state"


# Kinds that are filed by themselves, with the evidence that their paragraph asks for; older records state them.
FILED_APART = tuple(kind for kind in StatementKind if kind.value in tuple(FilingKind))


class Statement(FiledModel):
    """One further fact, with the rulebook's own keys in ``details`` (masses as mg)."""

    event = models.ForeignKey(ServiceEvent, on_delete=models.PROTECT, related_name="statements")
    kind = models.CharField(max_length=40, choices=StatementKind.choices)
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.get_kind_display()

    def canonical(self) -> dict[str, Any]:
        """What the hash of its event covers of it."""
        return {"kind": self.kind, "details": self.details}
