"""Writes logs of scales as rows: the file once by its hash, its place beside the transfer, and what is read in it."""

import datetime
import zlib
from collections.abc import Iterable

from jobs.models import ServiceEvent, Transfer, WeighLog, WeighLogFile
from jobs.services.log_entries import LogEntry
from jobs.services.log_readings import reading_of
from portal.accounts.models import User


def save_logs(event: ServiceEvent, pairs: Iterable[tuple[Transfer, LogEntry | None]]) -> None:
    """Save the logs filed with an event, each beside its saved transfer."""
    for transfer, entry in pairs:
        if entry is not None:
            save_log(transfer, entry, by=event.filed_by, attached_at=event.filed_at)


def save_log(
    transfer: Transfer,
    entry: LogEntry,
    *,
    by: User,
    attached_at: datetime.datetime,
    is_added_later: bool = False,
) -> WeighLog:
    """Save one log beside a transfer that has none; the same file that came before is not kept twice."""
    file = WeighLogFile(
        sha256=entry.sha256, byte_count=len(entry.content), compressed=zlib.compress(entry.content)
    )
    WeighLogFile.objects.bulk_create([file], ignore_conflicts=True)
    log = WeighLog(
        transfer=transfer,
        file_id=file.sha256,
        name=entry.name,
        unit=entry.answers.unit,
        time_column=entry.answers.time_column,
        weight_column=entry.answers.weight_column,
        attached_at=attached_at,
        attached_by=by,
        is_added_later=is_added_later,
    )
    log.save()
    reading_of(log, transfer, entry.weighed).save()
    return log
