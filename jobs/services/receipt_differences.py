"""Brings the books to what a receipt says; what it differs by goes to, or comes from, the stock difference."""

import datetime
from uuid import UUID, uuid4

from django.utils import timezone

from jobs.models import Holder, HolderKind, ShipmentReceipt, StockMovement, StockMovementKind
from jobs.selectors.receipts import ReceivedShipment, receipts_with_shipments, received_shipment, share_out
from jobs.services.cylinder_books import lock_cylinder_books
from jobs.services.holders import external_holder
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from jobs.services.stock_paper import StockPaper
from jobs.services.stock_writing import Moved, in_grams, movement_write
from portal.accounts.models import User


def receipt_difference_post(
    *,
    by: User,
    receipt: ShipmentReceipt,
    reason: str,
    submission_id: UUID | None = None,
    filed_at: datetime.datetime | None = None,
) -> StockMovement:
    """File that a reclaimer or destruction facility received another mass than was shipped; once for each receipt.

    Its account is brought to the receipt on the receipt's day. The difference of a mixture is shared out over its
    refrigerants as they were shipped.

    Args:
        by: the compliance officer.
        receipt: what the firm says that it received.
        reason: what explains the difference, as far as known.
        submission_id: made by the form, so that sending twice posts once.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: there is no difference, it was posted before, the receipt was withdrawn, or no reason is
            given.
    """
    cylinder = receipt.shipment.cylinder
    if cylinder is None:
        message = f"{receipt.shipment} is no shipment of a cylinder"
        raise ValueError(message)
    paper = StockPaper(
        *(by, StockMovementKind.RECEIPT_DIFFERENCE, cylinder, receipt.happened_on),
        note=reason,
        submission_id=submission_id or uuid4(),
        filed_at=filed_at or timezone.now(),
    )

    def file() -> StockMovement:
        # The cylinder's lock keeps a second posting, and a withdrawal of the receipt, waiting.
        lock_cylinder_books([cylinder])
        first = StockMovement.objects.filter(submission_id=paper.submission_id).first()
        return first or _post(paper, receipts_with_shipments().get(pk=receipt.pk))

    return file_once(StockMovement, paper.submission_id, file)


def _post(paper: StockPaper, receipt: ShipmentReceipt) -> StockMovement:
    refusals = Refusals()
    received = received_shipment(receipt)
    if not paper.note.strip():
        refusals.add("reason", paper.note, "Expected what explains the difference, as far as known.")
    if hasattr(receipt, "withdrawal"):
        refusals.add("receipt", receipt, "Expected a receipt that stands: this one was withdrawn.")
    elif received.was_posted:
        expected = "Its difference was posted before. Withdraw the receipt and file it anew if it was wrong."
        refusals.add("receipt", receipt, expected)
    elif not received.difference_mg:
        refusals.add("receipt", receipt, "The receipt and the shipment agree: there is nothing to post.")
    refusals.raise_any()
    return movement_write(paper, _moved(received, _firm(receipt)), receipt=receipt)


def _firm(receipt: ShipmentReceipt) -> Holder:
    """Who received it: a shipment goes to one firm."""
    return receipt.shipment.transfers.all()[0].to_holder


def _moved(received: ReceivedShipment, firm: Holder) -> list[Moved]:
    difference = external_holder(HolderKind.STOCK_DIFFERENCE)
    is_less = received.difference_mg < 0
    source, target = (firm, difference) if is_less else (difference, firm)
    shares = share_out(abs(received.difference_mg), received.shipped)
    return [(name, source, target, in_grams(mass_mg)) for name, mass_mg in shares.items() if mass_mg]
