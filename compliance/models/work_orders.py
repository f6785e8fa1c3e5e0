"""Work that a person asks for and a worker makes: how far it is stands in its row."""

from django.db import models


class WorkState(models.TextChoices):
    """How far ordered work is."""

    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"


class WorkOrder(models.Model):
    """The part of a row that a worker claims, goes on with and ends."""

    state = models.CharField(max_length=10, choices=WorkState.choices, default=WorkState.WAITING)
    claimed_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    done_count = models.PositiveIntegerField(default=0)
    total_count = models.PositiveIntegerField(default=0)
    failure = models.TextField(blank=True)

    class Meta:
        abstract = True

    @property
    def is_under_way(self) -> bool:
        """Whether it is still to be made."""
        return self.state in {WorkState.WAITING, WorkState.RUNNING}

    @property
    def done_pct(self) -> int:
        """How far it is, in percent."""
        return min(100, 100 * self.done_count // self.total_count) if self.total_count else 0
