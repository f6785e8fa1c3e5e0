"""When to remind of a kind of obligation, as the compliance officer decided: the newest plan in force counts."""

from django.conf import settings
from django.db import models

from jobs.models.filed import FiledModel


class ReminderPlan(FiledModel):
    """One decision on the days on which one kind is reminded of; it stays when a later one follows it.

    ``days_before`` are counted back from the due date, the largest first; 0 is the day itself.
    """

    kind = models.CharField(max_length=40)
    effective_from = models.DateField("in force from")
    days_before = models.JSONField("days before the due date")
    daily_overdue_days = models.PositiveSmallIntegerField("days overdue on which it is reminded of each day")
    overdue_every_days = models.PositiveSmallIntegerField("days between reminders from then on")
    escalate_after_days = models.PositiveSmallIntegerField(
        "days unacknowledged after which the officers are told", null=True, blank=True
    )
    reason = models.CharField(max_length=300)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    decided_at = models.DateTimeField()

    class Meta:
        ordering = ("-effective_from", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(overdue_every_days__gte=1),
                name="compliance_reminderplan_never_falls_silent",
            ),
        )
        indexes = (models.Index(fields=("kind", "effective_from"), name="compliance_plan_newest"),)

    def __str__(self) -> str:
        return f"{self.kind} from {self.effective_from}"
