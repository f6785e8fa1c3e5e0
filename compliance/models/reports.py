"""Report runs: what was asked, with which law, and the file that came out."""

from django.conf import settings
from django.db import models

from jobs.models import Customer


class ReportKind(models.TextChoices):
    """The reports that the portal prints."""

    ANNUAL_LEAK_RATE = "annual_leak_rate", "Annual leak rate report"


class ReportRun(models.Model):
    """One printed report; its inputs and its PDF are kept, so that it can be printed again."""

    kind = models.CharField(max_length=30, choices=ReportKind.choices)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, null=True, blank=True)
    year = models.PositiveSmallIntegerField()
    as_of = models.DateField()
    known_at = models.DateTimeField()
    rulebook_version = models.CharField(max_length=80)
    run_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    run_at = models.DateTimeField()
    pdf = models.FileField(upload_to="reports/")
    pdf_sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("-run_at",)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.year}"
