"""What is filed about a case beside visits: requests, plans, reports sent, mothballing, and the documents with them."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.specs import FilingKind, FilingSpec
from jobs.models.appliances import Appliance
from jobs.models.filed import FiledModel
from jobs.models.kept_bytes import KeptBytes


class DocumentFile(KeptBytes, FiledModel):
    """A document as it came; the same bytes are kept once, by their SHA-256."""

    sha256 = models.CharField("SHA-256", max_length=64, primary_key=True)

    def __str__(self) -> str:
        return self.sha256


class CaseFiling(FiledModel):
    """One thing filed about an appliance; a correction is another filing that supersedes it.

    ``details`` holds the evidence by the names of its kind (``compliance.rulebook.filings``); ``case`` what the records
    said on the filing's day of the facts that a request must state: appliance, rate exceeded, leaks, repairs.
    """

    submission_id = models.UUIDField(
        unique=True, default=uuid.uuid4, help_text="Made by the form, so that sending twice files once."
    )
    kind = models.CharField(max_length=40, choices=[(spec.kind.value, spec.name) for spec in SPECS.values()])
    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="case_filings")
    happened_on = models.DateField("date at the site")
    details = models.JSONField(default=dict, blank=True)
    case = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    original = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="The first record of the line of amendments; its place among the day's filings is theirs.",
    )
    amendment_reason = models.TextField(blank=True)
    is_void = models.BooleanField(default=False, help_text="It says that the former one counts no more.")

    class Meta:
        ordering = ("happened_on", "pk")
        indexes = (models.Index(fields=("appliance", "happened_on"), name="jobs_casefiling_history"),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(is_void=False) | models.Q(supersedes__isnull=False),
                name="jobs_casefiling_void_names_what_it_voids",
            ),
        )
        permissions = (("amend_casefiling", "Can amend or withdraw a case filing"),)

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        """The number that people quote."""
        return f"CF-{self.pk:06d}"

    @property
    def spec(self) -> FilingSpec:
        """What its kind asks for."""
        return SPECS[FilingKind(self.kind)]

    def canonical(self) -> dict[str, Any]:
        """What its hash covers: every field, and the documents filed with it."""
        return {
            "record": "case_filing",
            "submission_id": str(self.submission_id),
            "kind": self.kind,
            "appliance": self.appliance_id,
            "happened_on": self.happened_on.isoformat(),
            "details": self.details,
            "case": self.case,
            "note": self.note,
            "filed_at": self.filed_at.isoformat(),
            "filed_by": self.filed_by_id,
            "supersedes": self.supersedes_id,
            "original": self.original_id,
            "amendment_reason": self.amendment_reason,
            "is_void": self.is_void,
            "attachments": [row.canonical() for row in sorted(self.attachments.all(), key=_position)],
        }


class FilingAttachment(FiledModel):
    """A document filed with a filing: its name and its kept bytes."""

    filing = models.ForeignKey(CaseFiling, on_delete=models.PROTECT, related_name="attachments")
    position = models.PositiveSmallIntegerField()
    file = models.ForeignKey(DocumentFile, on_delete=models.PROTECT, related_name="attachments")
    name = models.CharField("name of the file", max_length=200)
    media_type = models.CharField(max_length=100)

    class Meta:
        ordering = ("filing", "position")
        constraints = (
            models.UniqueConstraint(
                fields=("filing", "position"), name="jobs_filingattachment_position_once_a_filing"
            ),
        )

    def __str__(self) -> str:
        return self.name

    def canonical(self) -> dict[str, Any]:
        """What the hash of its filing covers of it."""
        return {"sha256": self.file_id, "name": self.name, "media_type": self.media_type}


def _position(row: FilingAttachment) -> int:
    return row.position
