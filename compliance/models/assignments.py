"""Who was given an obligation, when and by whom; the newest row for a key counts."""

from django.conf import settings
from django.db import models

from jobs.models import Appliance, Technician
from jobs.models.filed import FiledModel


class ObligationAssignment(FiledModel):
    """An obligation given to a person; to nobody gives it back to whoever looks after its appliance.

    It names the obligation by its key, which stays the same when the obligation is derived anew.
    """

    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="assignments")
    obligation_key = models.CharField(max_length=160)
    technician = models.ForeignKey(Technician, on_delete=models.PROTECT, null=True, related_name="+")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    note = models.CharField(max_length=300, blank=True)
    assigned_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    assigned_at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(technician=None) | models.Q(user=None),
                name="compliance_obligationassignment_one_person",
            ),
        )
        indexes = (models.Index(fields=("obligation_key", "id"), name="compliance_assignment_newest"),)

    def __str__(self) -> str:
        return self.to_whom or "Whoever looks after the appliance"

    @property
    def to_whom(self) -> str:
        """The name of the person; empty where it went back to whoever looks after the appliance."""
        person = self.technician or self.user
        return person.full_name if person else ""
