"""When each scheduled task last ran, and what came of it."""

from django.db import models


class TaskRun(models.Model):
    """The last run of one scheduled task."""

    name = models.CharField(max_length=80, unique=True)
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True)
    has_failed = models.BooleanField(default=False)
    outcome = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.name.rpartition(".")[2].replace("_", " ").capitalize()
