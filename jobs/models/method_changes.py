"""By which leak rate method a facility goes: its change to the other one, and the putting right of a mistaken entry."""

from typing import Any

from django.db import models

from jobs.models.amendable import AmendableRecord, void_names_what_it_voids
from jobs.models.customers import LeakRateMethod, Site


class FacilityRecord(AmendableRecord):
    """A record about the leak rate method of a site, which stands in the chain of each of its appliances.

    ``facility`` holds owner, address, and of each appliance the newest leak rate by either method, as the records told
    of them when this was filed.
    """

    former_method = models.CharField(max_length=20, choices=LeakRateMethod.choices)
    facility = models.JSONField(default=dict)

    class Meta:
        abstract = True

    @property
    def appliance_ids(self) -> list[int]:
        """The appliances of the facility when it was filed, in whose chains it stands."""
        return [row["id"] for row in self.facility["appliances"]]


class LeakRateMethodChange(FacilityRecord):
    """One change of a site's leak rate method (40 CFR 84.106(b)(3)); the register keeps the method before the first.

    ``facility`` is what (l)(3) wants on record beside.
    """

    LETTERS = "MC"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="method_changes")
    happened_on = models.DateField("adopted on", help_text="The first day of the new method, at the site.")
    method = models.CharField("new method", max_length=20, choices=LeakRateMethod.choices)
    acquired_on = models.DateField("facility acquired on")
    acquired_from = models.CharField(max_length=160)
    is_owners_method = models.BooleanField(default=True)
    decided_by = models.CharField(max_length=160)

    class Meta:
        ordering = ("happened_on", "pk")
        indexes = (models.Index(fields=("site", "happened_on"), name="jobs_methodchange_history"),)
        constraints = (
            void_names_what_it_voids("jobs_methodchange_void_names_what_it_voids"),
            models.CheckConstraint(
                condition=~models.Q(method=models.F("former_method")), name="jobs_methodchange_is_one"
            ),
        )
        permissions = (("amend_leakratemethodchange", "Can amend or withdraw a change of leak rate method"),)

    def canonical(self) -> dict[str, Any]:
        """What its hash covers: every field."""
        return {
            "record": "method_change",
            "site": self.site_id,
            "happened_on": self.happened_on.isoformat(),
            "former_method": self.former_method,
            "method": self.method,
            "acquired_on": self.acquired_on.isoformat(),
            "acquired_from": self.acquired_from,
            "is_owners_method": self.is_owners_method,
            "decided_by": self.decided_by,
            "facility": self.facility,
            **self.canonical_filing(),
        }


class LeakRateMethodCorrection(FacilityRecord):
    """That the register named the wrong method of a site from the beginning, and which is the right one.

    It changes no method: the register's entry follows it, and leak rates are reckoned anew from the first on. What was
    on record before stays in the register's history. A change of method is another record, under 40 CFR 84.106(b)(3).
    """

    LETTERS = "RC"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="method_corrections")
    happened_on = models.DateField("corrected on", help_text="The date at the site when it was first filed.")
    method = models.CharField("right method", max_length=20, choices=LeakRateMethod.choices)
    mistake = models.TextField("how the mistake came about")
    shown_by = models.CharField("what shows the right method", max_length=240)

    class Meta:
        ordering = ("happened_on", "pk")
        indexes = (models.Index(fields=("site", "happened_on"), name="jobs_methodcorrection_history"),)
        constraints = (
            void_names_what_it_voids("jobs_methodcorrection_void_names_what_it_voids"),
            models.CheckConstraint(
                condition=~models.Q(method=models.F("former_method")), name="jobs_methodcorrection_is_one"
            ),
        )
        permissions = (
            (
                "amend_leakratemethodcorrection",
                "Can amend or withdraw a correction of a leak rate method in the register",
            ),
        )

    def canonical(self) -> dict[str, Any]:
        """What its hash covers: every field."""
        return {
            "record": "method_correction",
            "site": self.site_id,
            "happened_on": self.happened_on.isoformat(),
            "former_method": self.former_method,
            "method": self.method,
            "mistake": self.mistake,
            "shown_by": self.shown_by,
            "facility": self.facility,
            **self.canonical_filing(),
        }
