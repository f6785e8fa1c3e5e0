"""Files one record of a cylinder's life: the same form once, checked under the cylinder's lock, into its chain."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NotRequired, TypedDict, TypeVar, cast
from uuid import UUID, uuid4

from django.utils import timezone

from jobs.models import Cylinder, CylinderRecord
from jobs.services.chain import chain_extend
from jobs.services.cylinder_books import CylinderBook, lock_cylinder_books
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from portal.accounts.models import User

Record = TypeVar("Record", bound=CylinderRecord)
# Notes what is wrong and makes the record, unsaved; reads the locked book.
Build = Callable[[Refusals, CylinderBook], Record]

# What a record keeps of how it was filed, or of what stood on record then: no part of what was typed.
NOT_TYPED = {
    *("id", "filed_at", "filed_by_id", "from_place", "from_place_note", "tare_mg", "movement_id"),
    "former_requalified_on",
}


class RecordFields(TypedDict):
    """What every record of a cylinder says."""

    happened_on: datetime.date
    note: NotRequired[str]
    submission_id: NotRequired[UUID]
    filed_at: NotRequired[datetime.datetime]


@dataclass(frozen=True)
class RecordPaper:
    """The fields that all records of a cylinder share; ``submission_id`` lets a form sent twice file once."""

    by: User
    cylinder: Cylinder
    happened_on: datetime.date
    note: str = ""
    submission_id: UUID = field(default_factory=uuid4)
    filed_at: datetime.datetime = field(default_factory=timezone.now)


def record_file(
    model: type[Record],
    paper: RecordPaper,
    build: Build[Record],
    *,
    follow: Callable[[Record], None] = lambda _: None,
) -> Record:
    """File a record, or find it filed before under the same form.

    Args:
        model: the kind of record.
        paper: its common fields.
        build: makes the record's own fields.
        follow: what else changes with it, in the same transaction.

    Raises:
        SubmissionRefused: something is wrong, or the same form was filed with other contents; nothing is saved.
    """

    def file() -> Record:
        refusals = Refusals()
        book = lock_cylinder_books([paper.cylinder])[paper.cylinder.pk]
        record = _common(build(refusals, book), paper, book)
        first = cast("Record | None", model.objects.filter(submission_id=paper.submission_id).first())
        if first is not None:
            _check_same(record, first)
            return first
        check_record_day(refusals, paper)
        refusals.check_fields(record)
        refusals.raise_any()
        record.save()
        follow(record)
        chain_extend(record, [book.cylinder])
        return record

    return file_once(model, paper.submission_id, file)


def check_record_day(refusals: Refusals, paper: RecordPaper) -> None:
    """Note a day in the future or absurdly long ago."""
    refusals.check_day("happened_on", paper.happened_on, latest=timezone.localdate(paper.filed_at))


def _common(record: Record, paper: RecordPaper, book: CylinderBook) -> Record:
    record.submission_id = paper.submission_id
    record.cylinder = book.cylinder
    record.happened_on = paper.happened_on
    record.note = paper.note.strip()
    record.filed_at = paper.filed_at
    record.filed_by = paper.by
    return record


def _check_same(record: CylinderRecord, first: CylinderRecord) -> None:
    """Refuse a form that was filed before with other contents."""
    refusals = Refusals()
    for column in first._meta.concrete_fields:  # noqa: SLF001 -- Django documents it
        now, before = getattr(record, column.attname), getattr(first, column.attname)
        if column.attname not in NOT_TYPED and now != before:
            filed = before or "nothing"
            expected = f"This form was filed before, with {filed} here. For another record, open a new form."
            refusals.add(column.name, now, expected)
    refusals.raise_any()
