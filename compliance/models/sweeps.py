"""Sweeps over all appliances: what each has to assess, in chunks that workers claim one after the other."""

from django.db import models

from compliance.models.work_orders import WorkOrder


class AssessmentSweep(models.Model):
    """One pass over the appliances whose stored answers may be others by now; the next begins when it is done."""

    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True)
    stale_count = models.PositiveIntegerField(
        help_text="How many appliances were to be assessed at its start."
    )

    class Meta:
        ordering = ("-pk",)
        constraints = (
            models.UniqueConstraint(
                models.Value(1),
                condition=models.Q(finished_at=None),
                name="compliance_assessmentsweep_one_at_a_time",
            ),
        )

    def __str__(self) -> str:
        return f"Sweep of {self.started_at:%Y-%m-%d %H:%M}"


class SweepChunk(WorkOrder):
    """Appliances of a sweep, from one id to another; ``total_count`` of them were to be assessed."""

    sweep = models.ForeignKey(AssessmentSweep, on_delete=models.CASCADE, related_name="chunks")
    first_appliance_id = models.BigIntegerField()
    last_appliance_id = models.BigIntegerField()

    class Meta:
        ordering = ("pk",)
        indexes = (models.Index(fields=("state", "claimed_at"), name="compliance_sweepchunk_queue"),)

    def __str__(self) -> str:
        return f"Appliances {self.first_appliance_id} to {self.last_appliance_id}"
