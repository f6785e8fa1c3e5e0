"""Logs of scales: the file as it came, its place beside a transfer, and what is read in it."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.filed import FiledModel
from jobs.models.kept_bytes import KeptBytes
from jobs.models.ledger import Transfer


class WeighLogFile(KeptBytes, FiledModel):
    """A scale's log as it came; the same bytes are kept once, by their SHA-256.

    It is in the database, not beside it: one backup holds it, one transaction files it, one trigger keeps it.
    """

    sha256 = models.CharField("SHA-256", max_length=64, primary_key=True)

    def __str__(self) -> str:
        return self.sha256


class LogReadingChoices(models.Model):
    """What a person answered where a file leaves its unit or its columns open; blank where it speaks for itself."""

    unit = models.CharField(max_length=10, blank=True)
    time_column = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Counted from 0.")
    weight_column = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Counted from 0.")

    class Meta:
        abstract = True


class WeighLog(LogReadingChoices, FiledModel):
    """The log of the scale by which a transfer was weighed.

    Filed with its service event, whose hash covers it, or added later: then it is a record of its own in the
    appliance's and the cylinder's chains, and the event stays as it was.
    """

    transfer = models.OneToOneField(Transfer, on_delete=models.PROTECT, related_name="weigh_log")
    file = models.ForeignKey(WeighLogFile, on_delete=models.PROTECT, related_name="weigh_logs")
    name = models.CharField("name of the file", max_length=200)
    attached_at = models.DateTimeField()
    attached_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    is_added_later = models.BooleanField(default=False)

    class Meta:
        ordering = ("transfer_id",)

    def __str__(self) -> str:
        return self.name

    def canonical(self) -> dict[str, Any]:
        """What a hash covers of it."""
        return {
            "record": "weigh_log",
            "transfer": self.transfer_id,
            "sha256": self.file_id,
            "name": self.name,
            "unit": self.unit,
            "columns": [self.time_column, self.weight_column],
            "attached_at": self.attached_at.isoformat(),
            "attached_by": self.attached_by_id,
            "is_added_later": self.is_added_later,
        }


class WeighLogUpload(LogReadingChoices, KeptBytes):
    """A log on its way: sent while the form is filled in, kept until the form is filed or given up."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    sha256 = models.CharField("SHA-256", max_length=64)
    name = models.CharField("name of the file", max_length=200)
    uploaded_at = models.DateTimeField(db_index=True)
    outcomes = models.JSONField(
        default=dict, blank=True, help_text="What reading it came to, by what was asked and answered."
    )

    def __str__(self) -> str:
        return self.name


class WeighLogReading(models.Model):
    """What the present engine reads in a log: figures and a thinned curve, derived anew at any time."""

    log = models.OneToOneField(WeighLog, on_delete=models.CASCADE, primary_key=True, related_name="reading")
    engine_version = models.CharField(max_length=20)
    net_mg = models.BigIntegerField()
    uncertainty_mg = models.BigIntegerField(help_text="One standard deviation.")
    difference_mg = models.BigIntegerField(help_text="The mass on record less the log's.")
    tolerance_mg = models.BigIntegerField(
        help_text="Beyond it the two differ by more than weighing explains."
    )
    is_beyond_tolerance = models.BooleanField(db_index=True)
    figures = models.JSONField()
    curve = models.JSONField()

    def __str__(self) -> str:
        return f"reading of {self.log_id}"
