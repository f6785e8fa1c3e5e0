"""Checks the logs of scales that come with transfers: each fits its transfer, and proves no other."""

from jobs.models import ServiceEvent, WeighLog
from jobs.selectors.events import event_line
from jobs.services.checks.visit_context import VisitContext
from jobs.services.log_entries import LogEntry
from jobs.services.log_readings import SCALE_DIRECTION, direction_refusal
from jobs.services.refusals import Refusals


def check_logs(visit: VisitContext) -> None:
    """Note each log that shows another transfer than the one it comes with."""
    seen: set[str] = set()
    for position, entry in enumerate(visit.submission.transfers):
        if entry.log is None:
            continue
        field = f"transfers-{position}-log"
        check_direction(visit.refusals, entry.log, entry.direction, field)
        if entry.log.sha256 in seen:
            visit.refusals.add(
                field, entry.log.name, "Expected another log: this one is given for another row."
            )
        seen.add(entry.log.sha256)
        check_only_proof(visit.refusals, entry.log, field, superseded=visit.superseded)


def check_direction(refusals: Refusals, log: LogEntry, direction: str, field: str) -> None:
    """Note a log whose weight moved the other way."""
    fitting = SCALE_DIRECTION.get(direction)
    if fitting is not None and log.weighed.direction != fitting:
        refusals.found.append(direction_refusal(field, log.name, fitting))


def check_only_proof(
    refusals: Refusals, log: LogEntry, field: str, *, superseded: ServiceEvent | None = None
) -> None:
    """Note a log that stands beside another transfer; versions of one visit may share theirs."""
    others = WeighLog.objects.filter(
        file=log.sha256, transfer__event__superseded_by=None, transfer__event__is_void=False
    )
    if superseded is not None:
        others = others.exclude(transfer__event__in=event_line(superseded))
    if other := others.select_related("transfer__event").first():
        refusals.add(
            field,
            log.name,
            f"Expected a log that proves one transfer: this one is in {other.transfer.event}.",
        )
