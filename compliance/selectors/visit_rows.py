"""Service events together with every row that was filed with them, in a fixed number of queries."""

from django.db.models import Prefetch, QuerySet

from jobs.models import LeakFinding, Repair, ServiceEvent, Transfer, VerificationTest


def with_rows(events: QuerySet[ServiceEvent]) -> QuerySet[ServiceEvent]:
    """Fetch transfers, inspection, leaks found, repairs, tests and statements along."""
    return events.select_related("leak_inspection").prefetch_related(
        Prefetch(
            "transfers", Transfer.objects.select_related("to_holder", "leak").order_by("position", "pk")
        ),
        Prefetch("leak_findings", LeakFinding.objects.select_related("leak")),
        Prefetch("repairs", Repair.objects.select_related("leak")),
        Prefetch("verification_tests", VerificationTest.objects.select_related("leak")),
        "statements",
    )
