"""Records of which a later one may take the place: those that stand, and the line in which one stands."""

import datetime
from typing import Any, TypeVar

from django.db.models import Exists, OuterRef, Q, QuerySet

from jobs.models import CaseFiling, LeakRateMethodChange, LeakRateMethodCorrection, ServiceEvent

AnyRecord = ServiceEvent | CaseFiling | LeakRateMethodChange | LeakRateMethodCorrection
Record = TypeVar("Record", ServiceEvent, CaseFiling, LeakRateMethodChange, LeakRateMethodCorrection)


def records_standing(model: type[Record], known_at: datetime.datetime | None = None) -> QuerySet[Record]:
    """List the records of one kind that are neither superseded nor void, in no order.

    Args:
        model: their kind.
        known_at: as they stood at this instant; now unless given.
    """
    records = model.objects.filter(is_void=False)
    amendments = model.objects.filter(supersedes=OuterRef("pk"))
    if known_at is not None:
        records = records.filter(filed_at__lte=known_at)
        amendments = amendments.filter(filed_at__lte=known_at)
    return records.filter(~Exists(amendments)).order_by()


def record_line(record: Record, known_at: datetime.datetime | None = None) -> QuerySet[Record]:
    """List a record's whole line: the first one and its amendments, oldest first.

    Args:
        record: any of them.
        known_at: those that were filed by this instant; all unless given.
    """
    first_id = record.original_id or record.pk
    line = type(record).objects.filter(Q(pk=first_id) | Q(original=first_id))
    if known_at is not None:
        line = line.filter(filed_at__lte=known_at)
    return line.order_by("pk")


def newer_record(record: AnyRecord, known_at: datetime.datetime | None = None) -> Any:
    """The record that took this one's place; None if none had by the instant, now unless given."""
    newer = getattr(record, "superseded_by", None)
    return newer if newer and (known_at is None or newer.filed_at <= known_at) else None
