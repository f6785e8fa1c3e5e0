"""Filed records of which a later record may take the place, or say that they count no more."""

import uuid
from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from jobs.models.filed import FiledModel


class AmendableRecord(FiledModel):
    """What such records share: who filed them and when, and the line of amendments in which they stand."""

    #: The letters before its number.
    LETTERS: ClassVar[str]

    supersedes_id: int | None
    original_id: int | None

    submission_id = models.UUIDField(
        unique=True, default=uuid.uuid4, help_text="Made by the form, so that sending twice files once."
    )
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
        help_text="The first record of the line of amendments.",
    )
    amendment_reason = models.TextField(blank=True)
    is_void = models.BooleanField(default=False, help_text="It says that the former one counts no more.")

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        """The number that people quote."""
        return f"{self.LETTERS}-{self.pk:06d}"

    def canonical_filing(self) -> dict[str, Any]:
        """What its hash covers of these fields."""
        return {
            "submission_id": str(self.submission_id),
            "note": self.note,
            "filed_at": self.filed_at.isoformat(),
            "filed_by": self.filed_by_id,
            "supersedes": self.supersedes_id,
            "original": self.original_id,
            "amendment_reason": self.amendment_reason,
            "is_void": self.is_void,
        }


def void_names_what_it_voids(name: str) -> models.CheckConstraint:
    """That a withdrawal says of which record, as a constraint of that name."""
    return models.CheckConstraint(
        condition=models.Q(is_void=False) | models.Q(supersedes__isnull=False), name=name
    )
