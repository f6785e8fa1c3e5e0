"""Projections of the rulebook's answer: a cache of a pure function, rebuildable at any time."""

from django.db import models

from compliance.models.assignments import ObligationAssignment
from jobs.models import Appliance, CaseFiling, ServiceEvent


class ObligationStatus(models.TextChoices):
    """The rulebook's states of an obligation."""

    OPEN = "open", "Open"
    OVERDUE = "overdue", "Overdue"
    MET = "met", "Met"
    MET_LATE = "met_late", "Met late"
    FAILED = "failed", "Failed"
    SUSPENDED = "suspended", "Suspended"
    CANCELLED = "cancelled", "Cancelled"


class ApplianceAssessment(models.Model):
    """When an appliance was last assessed, with which rulebook, until when that holds, and what applies to it."""

    appliance = models.OneToOneField(Appliance, on_delete=models.CASCADE, related_name="assessment")
    as_of = models.DateField()
    holds_until = models.DateField(
        db_index=True, help_text="Up to this day at the site, time alone changes nothing of the answer."
    )
    rulebook_version = models.CharField(max_length=80)
    tables_version = models.CharField(max_length=80, default="")
    applies = models.JSONField(default=list)
    warnings = models.JSONField(default=list)
    answer_sha256 = models.CharField(
        max_length=64,
        blank=True,
        help_text="Of all that is stored of the answer; empty where it isn't known.",
    )
    assessed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.appliance} as of {self.as_of}"


class LeakRate(models.Model):
    """One leak rate that the rulebook calculated for one addition under one rule."""

    appliance = models.ForeignKey(Appliance, on_delete=models.CASCADE, related_name="leak_rates")
    position = models.PositiveSmallIntegerField()
    event = models.ForeignKey(ServiceEvent, on_delete=models.CASCADE, null=True, related_name="leak_rates")
    rule = models.CharField(max_length=40)
    method = models.CharField(max_length=20)
    on = models.DateField()
    added_mg = models.BigIntegerField()
    days = models.PositiveSmallIntegerField(null=True)
    rate_pct = models.DecimalField(max_digits=14, decimal_places=2)
    threshold_pct = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    exceeds = models.BooleanField("over the threshold")
    because = models.TextField()

    class Meta:
        ordering = ("appliance_id", "position")
        constraints = (
            models.UniqueConstraint(
                fields=("appliance", "position"), name="compliance_leakrate_position_once_an_appliance"
            ),
        )
        indexes = (models.Index(fields=("on",), name="compliance_leakrate_on"),)

    def __str__(self) -> str:
        return f"{self.rate_pct} % on {self.on}"


class Obligation(models.Model):
    """One thing owed under one rule, as the rulebook sees it on the day of the assessment."""

    appliance = models.ForeignKey(Appliance, on_delete=models.CASCADE, related_name="obligations")
    key = models.CharField(
        max_length=160,
        unique=True,
        help_text="Appliance, rule, kind, opening day and a count: the same after any rebuild.",
    )
    rule = models.CharField(max_length=40)
    kind = models.CharField(max_length=40)
    opened_on = models.DateField()
    due_on = models.DateField(null=True)
    status = models.CharField(max_length=20, choices=ObligationStatus.choices)
    met_on = models.DateField(null=True)
    opened_by = models.ForeignKey(
        ServiceEvent, on_delete=models.SET_NULL, null=True, related_name="obligations_opened"
    )
    met_by = models.ForeignKey(
        ServiceEvent, on_delete=models.SET_NULL, null=True, related_name="obligations_met"
    )
    opened_by_filing = models.ForeignKey(
        CaseFiling, on_delete=models.SET_NULL, null=True, related_name="obligations_opened"
    )
    met_by_filing = models.ForeignKey(
        CaseFiling, on_delete=models.SET_NULL, null=True, related_name="obligations_met"
    )
    citation = models.CharField(max_length=120)
    because = models.TextField()
    is_confirmed = models.BooleanField(default=True)
    assignment = models.ForeignKey(
        ObligationAssignment,
        on_delete=models.SET_NULL,
        null=True,
        related_name="+",
        help_text="The newest for its key; none while nobody was ever named.",
    )

    class Meta:
        ordering = ("due_on", "pk")
        indexes = (models.Index(fields=("status", "due_on"), name="compliance_obligation_board"),)

    def __str__(self) -> str:
        return f"{self.kind} due {self.due_on}"
