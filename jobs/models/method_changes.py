"""A facility's change from one leak rate method to the other: filed once, amended or withdrawn by later records."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.customers import LeakRateMethod, Site
from jobs.models.filed import FiledModel


class LeakRateMethodChange(FiledModel):
    """One change of a site's leak rate method (40 CFR 84.106(b)(3)); the register keeps the method before the first.

    ``facility`` holds what (l)(3) wants on record beside: owner, address, and of each appliance the newest leak rate by
    either method, as the records told of them when this was filed.
    """

    submission_id = models.UUIDField(
        unique=True, default=uuid.uuid4, help_text="Made by the form, so that sending twice files once."
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="method_changes")
    happened_on = models.DateField("adopted on", help_text="The first day of the new method, at the site.")
    former_method = models.CharField(max_length=20, choices=LeakRateMethod.choices)
    method = models.CharField("new method", max_length=20, choices=LeakRateMethod.choices)
    acquired_on = models.DateField("facility acquired on")
    acquired_from = models.CharField(max_length=160)
    is_owners_method = models.BooleanField(default=True)
    decided_by = models.CharField(max_length=160)
    facility = models.JSONField(default=dict)
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
        ordering = ("happened_on", "pk")
        indexes = (models.Index(fields=("site", "happened_on"), name="jobs_methodchange_history"),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(is_void=False) | models.Q(supersedes__isnull=False),
                name="jobs_methodchange_void_names_what_it_voids",
            ),
            models.CheckConstraint(
                condition=~models.Q(method=models.F("former_method")), name="jobs_methodchange_is_one"
            ),
        )
        permissions = (("amend_leakratemethodchange", "Can amend or withdraw a change of leak rate method"),)

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        """The number that people quote."""
        return f"MC-{self.pk:06d}"

    @property
    def appliance_ids(self) -> list[int]:
        """The appliances of the facility when it was filed, in whose chains it stands."""
        return [row["id"] for row in self.facility["appliances"]]

    def canonical(self) -> dict[str, Any]:
        """What its hash covers: every field."""
        return {
            "record": "method_change",
            "submission_id": str(self.submission_id),
            "site": self.site_id,
            "happened_on": self.happened_on.isoformat(),
            "former_method": self.former_method,
            "method": self.method,
            "acquired_on": self.acquired_on.isoformat(),
            "acquired_from": self.acquired_from,
            "is_owners_method": self.is_owners_method,
            "decided_by": self.decided_by,
            "facility": self.facility,
            "note": self.note,
            "filed_at": self.filed_at.isoformat(),
            "filed_by": self.filed_by_id,
            "supersedes": self.supersedes_id,
            "original": self.original_id,
            "amendment_reason": self.amendment_reason,
            "is_void": self.is_void,
        }
