"""Record packs: all records of a customer, a site or an appliance in one file that anyone can check."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from compliance.models.reports import ReportState
from jobs.models import Appliance, Customer, Site


class RecordPack(models.Model):
    """One pack that was asked for: of whom, for which visits, how far it is, and the ZIP that came out.

    ``manifest_sha256`` is what a reader of the pack compares: it stands for every byte in it.
    """

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    appliance = models.ForeignKey(
        Appliance, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    happened_from = models.DateField("visits from")
    happened_to = models.DateField("visits to")
    known_at = models.DateTimeField(help_text="Records filed later are not in it.")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=10, choices=ReportState.choices, default=ReportState.WAITING)
    claimed_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    done_count = models.PositiveIntegerField(default=0)
    total_count = models.PositiveIntegerField(default=0)
    failure = models.TextField(blank=True)
    file = models.FileField(upload_to="packs/", blank=True)
    file_sha256 = models.CharField(max_length=64, blank=True)
    manifest_sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ("-known_at", "-pk")
        constraints = (
            models.CheckConstraint(
                name="compliance_recordpack_has_one_subject",
                condition=(
                    Q(customer__isnull=False, site=None, appliance=None)
                    | Q(customer=None, site__isnull=False, appliance=None)
                    | Q(customer=None, site=None, appliance__isnull=False)
                ),
            ),
            models.CheckConstraint(
                name="compliance_recordpack_done_has_file",
                condition=~Q(state=ReportState.DONE) | ~Q(manifest_sha256=""),
            ),
        )

    def __str__(self) -> str:
        return f"Record pack of {self.subject}"

    @property
    def subject(self) -> Customer | Site | Appliance | None:
        """Whose records it holds."""
        return self.appliance or self.site or self.customer

    @property
    def is_under_way(self) -> bool:
        """Whether it is still to be made."""
        return self.state in {ReportState.WAITING, ReportState.RUNNING}

    @property
    def done_pct(self) -> int:
        """How far it is, in percent."""
        return min(100, 100 * self.done_count // self.total_count) if self.total_count else 0
