"""Reverses a movement of stock that was filed by mistake; both stay readable."""

import datetime
from uuid import UUID, uuid4

from django.utils import timezone

from jobs.models import Cylinder, CylinderMove, StockMovement, StockMovementKind
from jobs.services.chain import chain_extend
from jobs.services.cylinder_books import lock_cylinder_books
from jobs.services.cylinder_limits import check_days_after
from jobs.services.entries import ONE_DAY
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from jobs.services.transfer_reversals import reversal_of
from jobs.services.withdrawals import withdrawal_record
from portal.accounts.models import User

# An appliance's opening charge is corrected through its register, a reversal by filing the right movement anew.
NOT_REVERSED = (StockMovementKind.APPLIANCE_OPENING, StockMovementKind.REVERSAL)


def stock_movement_reverse(
    *,
    by: User,
    movement: StockMovement,
    reason: str,
    submission_id: UUID | None = None,
    filed_at: datetime.datetime | None = None,
) -> StockMovement:
    """File that a movement of stock never was: each of its transfers is undone on the day it happened on.

    The move of a cylinder that went along with it is withdrawn for the same reason.

    Args:
        by: who reverses.
        movement: the one filed by mistake.
        reason: why.
        submission_id: made by the form, so that sending twice reverses once.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: it was reversed before, something rests on it, or no reason is given; nothing is saved.
    """
    filed_at = filed_at or timezone.now()
    submission_id = submission_id or uuid4()

    def reverse() -> StockMovement:
        cylinders = _cylinders(movement)
        books = lock_cylinder_books(cylinders, without=movement)
        current = StockMovement.objects.select_related("reversed_by").get(pk=movement.pk)
        refusals = Refusals()
        before = getattr(current, "reversed_by", None)
        if before and before.submission_id == submission_id:
            return before
        if before:
            refusals.add("movement", current, f"It was reversed already, on {before.filed_at:%Y-%m-%d}.")
        if current.kind in NOT_REVERSED:
            refusals.add("movement", current, "Expected a purchase, sale, shipment, adjustment or opening.")
        if not reason.strip():
            refusals.add("reason", reason, "Expected why it is reversed.")
        if receipt := current.receipts.filter(withdrawal=None).first():
            expected = f"Its receipt no. {receipt.document_number} is on record. Withdraw the receipt first."
            refusals.add("movement", current, expected)
        for book in books.values():
            check_days_after(refusals, book, current.happened_on - ONE_DAY, field="movement")
        refusals.raise_any()
        return _write(by, current, cylinders, reason, submission_id, filed_at)

    return file_once(StockMovement, submission_id, reverse)


def _cylinders(movement: StockMovement) -> list[Cylinder]:
    rows = movement.transfers.select_related("from_holder__cylinder", "to_holder__cylinder")
    found = {side.cylinder for row in rows for side in (row.from_holder, row.to_holder) if side.cylinder}
    # The difference to a receipt moves nothing in its cylinder and stands in its chain all the same.
    found |= {movement.cylinder} if movement.cylinder else set()
    return sorted(found, key=lambda cylinder: cylinder.pk)


def _write(
    by: User,
    movement: StockMovement,
    cylinders: list[Cylinder],
    reason: str,
    submission_id: UUID,
    filed_at: datetime.datetime,
) -> StockMovement:
    reversal = StockMovement(
        submission_id=submission_id,
        kind=StockMovementKind.REVERSAL,
        cylinder=movement.cylinder,
        happened_on=movement.happened_on,
        note=reason.strip(),
        reverses=movement,
        filed_at=filed_at,
        filed_by=by,
    )
    reversal.save()
    for row in movement.transfers.select_related("from_holder", "to_holder").order_by("position"):
        reversal_of(row, position=row.position, stock_movement=reversal).save()
    chain_extend(reversal, cylinders)
    if move := CylinderMove.objects.filter(movement=movement, withdrawal=None).first():
        withdrawn_on = timezone.localdate(filed_at)
        withdrawal_record(by=by, record=move, reason=reason, happened_on=withdrawn_on, filed_at=filed_at)
    return reversal
