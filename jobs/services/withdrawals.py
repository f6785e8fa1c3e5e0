"""Withdraws a record of a cylinder that was filed by mistake; both stay readable."""

from typing import Unpack

from jobs.models import (
    Contamination,
    CylinderMove,
    CylinderRecord,
    CylinderWeighing,
    RequalificationTest,
    ShipmentReceipt,
    StockMovement,
    Withdrawal,
)
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_limits import check_days_after
from jobs.services.cylinder_moves import cylinder_keep_place
from jobs.services.cylinder_records import RecordFields, RecordPaper, record_file
from jobs.services.entries import ONE_DAY
from jobs.services.refusals import Refusals
from jobs.services.requalification_tests import cylinder_keep_test_date
from portal.accounts.models import User

WITHDRAWN: dict[str, type[CylinderRecord]] = {
    model.RECORD_KIND: model
    for model in (CylinderMove, CylinderWeighing, ShipmentReceipt, Contamination, RequalificationTest)
}


def withdrawal_record(
    *, by: User, record: CylinderRecord, reason: str, **fields: Unpack[RecordFields]
) -> Withdrawal:
    """File that a move, weighing, receipt, mark or test counts no more.

    Args:
        by: who withdraws.
        record: the one filed by mistake.
        reason: why.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: it was withdrawn before, other records rest on it, or no reason is given.
    """
    paper = RecordPaper(by, record.cylinder, **fields)

    def build(refusals: Refusals, book: CylinderBook) -> Withdrawal:
        before = Withdrawal.objects.filter(**{record.RECORD_KIND: record}).first()
        if before and before.submission_id != paper.submission_id:
            refusals.add("record", record, f"It was withdrawn on {before.happened_on} already.")
        if not reason.strip():
            refusals.add("reason", reason, "Expected why it is withdrawn.")
        if isinstance(record, CylinderWeighing | ShipmentReceipt):
            _check_adjustment(refusals, record)
        elif isinstance(record, Contamination):
            book.contaminations = [mark for mark in book.contaminations if mark.pk != record.pk]
            check_days_after(refusals, book, record.happened_on - ONE_DAY, field="record")
        return Withdrawal(reason=reason.strip(), **{record.RECORD_KIND: record})

    def follow(withdrawal: Withdrawal) -> None:
        if isinstance(record, CylinderMove):
            cylinder_keep_place(by=by, cylinder=withdrawal.cylinder)
        elif isinstance(record, RequalificationTest):
            cylinder_keep_test_date(by=by, cylinder=withdrawal.cylinder)

    return record_file(Withdrawal, paper, build, follow=follow)


def _check_adjustment(refusals: Refusals, record: CylinderWeighing | ShipmentReceipt) -> None:
    adjusted_to = {"weighing" if isinstance(record, CylinderWeighing) else "receipt": record}
    if StockMovement.objects.filter(**adjusted_to, reversed_by=None).exists():
        refusals.add("record", record, "The books were adjusted to it. Reverse the adjustment first.")
