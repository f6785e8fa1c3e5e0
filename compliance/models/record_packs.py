"""Record packs: all records of a customer, a site or an appliance in one file that anyone can check."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from compliance.models.work_orders import WorkOrder, WorkState
from jobs.models import Appliance, Customer, Site


class RecordPack(WorkOrder):
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
    asked_at = models.DateTimeField()
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
                condition=~Q(state=WorkState.DONE) | ~Q(manifest_sha256=""),
            ),
        )

    def __str__(self) -> str:
        return f"Record pack of {self.subject}"

    @property
    def subject(self) -> Customer | Site | Appliance | None:
        """Whose records it holds."""
        return self.appliance or self.site or self.customer
