"""Files the changes of a leak rate method that the demo firm's sites tell of."""

import uuid
from contextlib import suppress
from datetime import datetime, time, timedelta
from typing import Any

from compliance.services.method_changes import MethodChangeEntry, method_change_file
from jobs.errors import SubmissionRefused
from jobs.models import Site
from portal.accounts.models import User
from portal.demo.firm import Firm

NAMESPACE = uuid.UUID("0c9c8d6b-5a53-4f0b-9f43-2f5a3a1c7d10")


class MethodChanges:
    """Files each change on its own day, among the visits."""

    def __init__(self, firm: Firm, by: User, now: datetime) -> None:
        self._firm, self._by, self._now = firm, by, now
        told = [
            (customer["name"], site["name"], site["method_change"])
            for customer in firm.data["customers"]
            for site in customer["sites"]
            if "method_change" in site
        ]
        self._waiting = sorted(told, key=lambda row: -row[2]["days_ago"])

    def file_before(self, days_ago: int) -> None:
        """File those of earlier days; none where the paragraph doesn't allow it on that day, or isn't in force yet."""
        while self._waiting and self._waiting[0][2]["days_ago"] > days_ago:
            customer, name, told = self._waiting.pop(0)
            rows = Site.objects.select_related("customer")
            self._file(rows.get(customer__name=customer, name=name), told)

    def _file(self, site: Site, told: dict[str, Any]) -> None:
        on = self._firm.today - timedelta(days=told["days_ago"])
        entry = MethodChangeEntry(
            method=told["method"],
            happened_on=on,
            acquired_on=self._firm.today - timedelta(days=told["acquired_days_ago"]),
            acquired_from=told["acquired_from"],
            is_owners_method=True,
            decided_by=site.customer.contact_name,
            submission_id=uuid.uuid5(NAMESPACE, str(site.pk)),
        )
        filed_at = min(datetime.combine(on, time(16, 5), tzinfo=site.zone), self._now)
        # On other days than the stories were written for, an appliance may exceed its rate.
        with suppress(SubmissionRefused):
            method_change_file(by=self._by, site=site, entry=entry, filed_at=filed_at)
