"""What a service event must fulfil before it is filed; each check notes all that it finds."""

from jobs.services.checks.findings import check_findings, check_kept_leaks
from jobs.services.checks.logs import check_logs
from jobs.services.checks.opening import check_opening
from jobs.services.checks.people import check_people
from jobs.services.checks.statements import check_statements
from jobs.services.checks.transfers import check_later_days, check_transfers
from jobs.services.checks.visit import check_visit
from jobs.services.checks.visit_context import VisitContext

__all__ = [
    "VisitContext",
    "check_event",
    "check_void",
]


def check_event(visit: VisitContext) -> None:
    """Check a whole submission, noting everything that is wrong with it."""
    check_visit(visit)
    check_opening(visit)
    check_people(visit)
    check_transfers(visit)
    check_logs(visit)
    check_findings(visit)
    check_statements(visit)


def check_void(visit: VisitContext) -> None:
    """Check what taking an event out of the records would leave behind."""
    check_later_days(visit)
    check_kept_leaks(visit)
