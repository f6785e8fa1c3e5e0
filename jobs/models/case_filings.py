"""What is filed about a case beside visits: requests, plans, reports sent, mothballing, and the documents with them."""

from typing import Any

from django.db import models

from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.specs import FilingKind, FilingSpec
from jobs.models.amendable import AmendableRecord, void_names_what_it_voids
from jobs.models.appliances import Appliance
from jobs.models.filed import FiledModel
from jobs.models.kept_bytes import KeptBytes


class DocumentFile(KeptBytes, FiledModel):
    """A document as it came; the same bytes are kept once, by their SHA-256."""

    sha256 = models.CharField("SHA-256", max_length=64, primary_key=True)

    def __str__(self) -> str:
        return self.sha256


class CaseFiling(AmendableRecord):
    """One thing filed about an appliance; a correction is another filing that supersedes it.

    ``details`` holds the evidence by the names of its kind (``compliance.rulebook.filings``); ``case`` what the records
    said on the filing's day of the facts that a request must state: appliance, rate exceeded, leaks, repairs.
    """

    LETTERS = "CF"

    kind = models.CharField(max_length=40, choices=[(spec.kind.value, spec.name) for spec in SPECS.values()])
    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="case_filings")
    happened_on = models.DateField("date at the site")
    details = models.JSONField(default=dict, blank=True)
    case = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ("happened_on", "pk")
        indexes = (models.Index(fields=("appliance", "happened_on"), name="jobs_casefiling_history"),)
        constraints = (void_names_what_it_voids("jobs_casefiling_void_names_what_it_voids"),)
        permissions = (("amend_casefiling", "Can amend or withdraw a case filing"),)

    @property
    def spec(self) -> FilingSpec:
        """What its kind asks for."""
        return SPECS[FilingKind(self.kind)]

    def canonical(self) -> dict[str, Any]:
        """What its hash covers: every field, and the documents filed with it."""
        return {
            "record": "case_filing",
            "kind": self.kind,
            "appliance": self.appliance_id,
            "happened_on": self.happened_on.isoformat(),
            "details": self.details,
            "case": self.case,
            **self.canonical_filing(),
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
