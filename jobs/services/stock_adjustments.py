"""Brings a cylinder's books to what the scale showed; the difference goes to, or comes from, the stock difference."""

import datetime
from uuid import UUID, uuid4

from django.utils import timezone

from jobs.models import CylinderWeighing, HolderKind, StockMovement, StockMovementKind
from jobs.selectors.weighings import WeighedStock, standing_weighings, weighed_stock
from jobs.services.cylinder_books import BookRow, CylinderBook, lock_cylinder_books
from jobs.services.cylinder_limits import ContentsMove
from jobs.services.holders import external_holder
from jobs.services.once import file_once
from jobs.services.refusals import Refusals, known_designation
from jobs.services.stock_paper import StockPaper
from jobs.services.stock_writing import in_grams, movement_write
from portal.accounts.models import User


def stock_adjust(
    *,
    by: User,
    weighing: CylinderWeighing,
    reason: str,
    submission_id: UUID | None = None,
    filed_at: datetime.datetime | None = None,
) -> StockMovement:
    """File that a cylinder's books are brought to a weighing; on the weighing's day, once for each weighing.

    Args:
        by: the compliance officer.
        weighing: what the scale showed.
        reason: what explains the difference, as far as known.
        submission_id: made by the form, so that sending twice adjusts once.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: there is no difference, it was adjusted before, the cylinder holds a mixture, later records
            can't stand beside it, or no reason is given.
    """
    paper = StockPaper(
        *(by, StockMovementKind.ADJUSTMENT, weighing.cylinder, weighing.happened_on),
        note=reason,
        submission_id=submission_id or uuid4(),
        filed_at=filed_at or timezone.now(),
    )

    def file() -> StockMovement:
        book = lock_cylinder_books([weighing.cylinder])[weighing.cylinder_id]
        first = StockMovement.objects.filter(submission_id=paper.submission_id).first()
        return first or _adjust(paper, book, weighing)

    return file_once(StockMovement, paper.submission_id, file)


def _adjust(paper: StockPaper, book: CylinderBook, weighing: CylinderWeighing) -> StockMovement:
    refusals = Refusals()
    (stock,) = weighed_stock(standing_weighings().filter(pk=weighing.pk)) or (None,)
    if stock is None:
        refusals.add("weighing", weighing, "Expected a weighing that stands: this one was withdrawn.")
        refusals.raise_any()
        raise AssertionError
    if not paper.note.strip():
        refusals.add("reason", paper.note, "Expected what explains the difference, as far as known.")
    _check_open(refusals, stock)
    designation = _designation(refusals, book, stock)
    refusals.raise_any()
    row = BookRow(paper.happened_on, designation, stock.difference_mg)
    move = ContentsMove(book, row, mass_field="weighing")
    if stock.difference_mg < 0:
        move.check_draw(refusals)
    else:
        book.add(row)
    move.check_later_days(refusals)
    refusals.raise_any()
    difference, own = external_holder(HolderKind.STOCK_DIFFERENCE), book.cylinder.holder
    source, target = (own, difference) if stock.difference_mg < 0 else (difference, own)
    moved = [(designation, source, target, in_grams(abs(stock.difference_mg)))]
    return movement_write(paper, moved, weighing=weighing)


def _check_open(refusals: Refusals, stock: WeighedStock) -> None:
    weighing = stock.weighing
    if hasattr(weighing, "adjustment"):
        expected = "This weighing was adjusted to before. Weigh the cylinder again if it still differs."
        refusals.add("weighing", weighing, expected)
    elif stock.difference_mg == 0:
        refusals.add("weighing", weighing, "The scale and the books agree: there is nothing to adjust.")


def _designation(refusals: Refusals, book: CylinderBook, stock: WeighedStock) -> str:
    """The refrigerant that the difference is of: what the cylinder holds, or else what it is dedicated to."""
    if len(stock.book) > 1 or book.is_marked_mixed_on(stock.weighing.happened_on):
        expected = (
            "The cylinder holds a mixture: nobody knows what is missing. The reclaimer's receipt settles it."
        )
        refusals.add("weighing", stock.weighing, expected)
        return ""
    designation = next(iter(stock.book), book.cylinder.refrigerant)
    if not designation:
        expected = "Nothing says which refrigerant it is: enter what the cylinder is dedicated to first."
        refusals.add("weighing", stock.weighing, expected)
        return ""
    return known_designation(refusals, "weighing", designation)
