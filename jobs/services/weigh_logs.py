"""Adds the log of a scale to a transfer that is filed already, and reads all filed logs anew."""

import datetime
from collections.abc import Iterator

from django.core.exceptions import PermissionDenied
from django.db import transaction

from jobs.models import Appliance, ServiceEvent, Transfer, WeighLog
from jobs.services.chain import chain_extend
from jobs.services.checks.logs import check_direction, check_only_proof
from jobs.services.cylinder_books import lock_cylinder_books
from jobs.services.log_entries import LogEntry
from jobs.services.log_filing import save_log
from jobs.services.log_readings import direction_of, reading_of, weigh_filed
from jobs.services.refusals import Refusals
from jobs.weighing import InvalidLog
from portal.accounts.models import User

FIELD = "log"


def may_add_log(user: User, event: ServiceEvent) -> bool:
    """Whether a person may add a log to an event: who filed it, and who amends records."""
    return user.has_perm("jobs.amend_serviceevent") or (
        user.has_perm("jobs.add_weighlog") and event.filed_by_id == user.pk
    )


@transaction.atomic
def weigh_log_add(
    *, by: User, transfer: Transfer, entry: LogEntry, attached_at: datetime.datetime
) -> WeighLog:
    """Add a log to a filed transfer, as a record of its own; the event stays as it was filed.

    Args:
        by: who adds it.
        transfer: one of an event that stands.
        entry: the log, weighed in the transfer's direction.
        attached_at: the instant that counts as now.

    Raises:
        PermissionDenied: neither who filed the event nor someone who amends records.
        SubmissionRefused: the transfer has a log, the event doesn't stand any more, or the log shows another transfer.
    """
    event = transfer.event
    if event is None or not may_add_log(by, event):
        raise PermissionDenied
    appliance = Appliance.objects.select_for_update(no_key=True).get(pk=event.appliance_id)
    transfer = Transfer.objects.select_related(
        "event__superseded_by", "from_holder__cylinder", "to_holder__cylinder", "scale", "weigh_log"
    ).get(pk=transfer.pk)
    _check(transfer, entry)
    cylinders = [holder.cylinder for holder in (transfer.from_holder, transfer.to_holder) if holder.cylinder]
    lock_cylinder_books(cylinders)
    log = save_log(transfer, entry, by=by, attached_at=attached_at, is_added_later=True)
    chain_extend(log, {appliance, *cylinders})
    return log


def _check(transfer: Transfer, entry: LogEntry) -> None:
    refusals = Refusals()
    event = transfer.event
    if event is not None and (hasattr(event, "superseded_by") or event.is_void):
        refusals.add(FIELD, entry.name, f"Expected a record that stands: {event} doesn't any more.")
    if transfer.reverses_id is not None:
        refusals.add(FIELD, entry.name, "Expected a transfer that was weighed, not a reversal.")
    if hasattr(transfer, "weigh_log"):
        expected = f"This transfer has its log, {transfer.weigh_log}. To change it, amend the record."
        refusals.add(FIELD, entry.name, expected)
    refusals.raise_any()
    check_direction(refusals, entry, direction_of(transfer), FIELD)
    check_only_proof(refusals, entry, FIELD)
    refusals.raise_any()


def weigh_log_readings_rebuild() -> Iterator[tuple[WeighLog, str]]:
    """Read every filed log anew by the present engine; what can't be read any more keeps its former reading.

    Yields:
        Each log, and what is wrong with it, nothing if it was read.
    """
    logs = WeighLog.objects.select_related(
        "file", "transfer__scale", "transfer__from_holder", "transfer__to_holder", "transfer__event"
    )
    for log in logs.order_by("pk").iterator(chunk_size=20):
        try:
            reading_of(log, log.transfer, weigh_filed(log)).save()
        except InvalidLog as error:
            yield log, str(error)
        else:
            yield log, ""
