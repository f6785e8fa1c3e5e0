"""The leaks of an appliance as its standing records tell of them."""

import datetime
from dataclasses import dataclass
from typing import TypeVar

from django.db.models import BigIntegerField, QuerySet
from django.db.models.functions import Coalesce

from jobs.models import Appliance, Leak, LeakFinding, Repair, VerificationKind, VerificationTest
from jobs.selectors.events import OF_STANDING_EVENT

EventRow = TypeVar("EventRow", LeakFinding, Repair, VerificationTest)


@dataclass(frozen=True)
class LeakOption:
    """A leak on record, where it was last found, and whether a follow-up test has shown it repaired."""

    leak: Leak
    part: str
    location: str
    is_verified: bool


def recorded_leaks(appliance: Appliance) -> list[LeakOption]:
    """The leaks that standing records of the appliance tell of, newest first.

    A leak is verified while the newest record of it is a passed follow-up test: finding or repairing it opens it anew.
    """
    found = _in_legal_order(LeakFinding.objects.filter(leak__appliance=appliance))
    repaired = _in_legal_order(Repair.objects.filter(leak__appliance=appliance))
    tests = VerificationTest.objects.filter(leak__appliance=appliance, kind=VerificationKind.FOLLOW_UP)
    findings = {finding.leak_id: finding for finding in found}
    opened = {leak_id: _place(finding) for leak_id, finding in findings.items()}
    for repair in repaired:
        opened[repair.leak_id] = max(_place(repair), opened.get(repair.leak_id, _place(repair)))
    follow_ups = {test.leak_id: test for test in _in_legal_order(tests)}

    def is_verified(leak_id: int) -> bool:
        test = follow_ups.get(leak_id)
        # Within a visit, its follow-up tests come after its findings and repairs.
        return test is not None and test.is_passed and _place(test) >= opened[leak_id]

    options = [
        LeakOption(finding.leak, finding.part, finding.location, is_verified(leak_id))
        for leak_id, finding in findings.items()
    ]
    return sorted(options, key=lambda option: -option.leak.number)


def _in_legal_order(rows: QuerySet[EventRow]) -> QuerySet[EventRow]:
    """Rows of standing events by day; within a day as first filed, an amendment in its original's place."""
    filed = Coalesce("event__original", "event", output_field=BigIntegerField())
    standing = rows.filter(OF_STANDING_EVENT).select_related("event", "leak")
    return standing.order_by("event__happened_on", filed, "pk")


def _place(row: LeakFinding | Repair | VerificationTest) -> tuple[datetime.date, int]:
    """Where the row's event stands in the legal order."""
    return row.event.happened_on, row.event.original_id or row.event_id
