"""Lets a cylinder go along with what is shipped or sold in it: a move filed in the same transaction."""

from compliance.rulebook.masses import format_mass
from jobs.models import CylinderPlace, MoveReason, StockMovement
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_moves import MoveEntry, cylinder_move_record
from jobs.services.refusals import Refusals
from jobs.services.stock_paper import StockPaper


def check_travel(refusals: Refusals, paper: StockPaper, book: CylinderBook) -> None:
    """Note if the cylinder can't go along: something stays in it by its books, or nobody took it there.

    Args:
        refusals: grows by what is wrong.
        paper: of the shipment or sale.
        book: of the cylinder, with what leaves it entered.
    """
    if not paper.is_with_cylinder:
        return
    if left := book.contents_on(paper.happened_on):
        words = " and ".join(f"{format_mass(mass_mg)} of {name}" for name, mass_mg in sorted(left.items()))
        expected = (
            f"Expected all of the contents to leave with the cylinder; {words} would stay in it by its books. "
            "Leave the mass empty for all of it, or let the cylinder stay."
        )
        refusals.add("is_with_cylinder", "yes", expected)
    if not paper.moved_by.strip():
        refusals.add("moved_by", paper.moved_by, "Expected who takes the cylinder there.")


def travel_file(paper: StockPaper, movement: StockMovement) -> StockMovement:
    """File where the cylinder went with a movement that was just written, if it went along; returns the movement.

    Raises:
        SubmissionRefused: it was taken out of use before.
    """
    if paper.is_with_cylinder:
        entry = MoveEntry(
            place=CylinderPlace.AWAY,
            moved_by=paper.moved_by,
            reason=MoveReason.SENT,
            firm_name=paper.firm_name,
            movement=movement,
        )
        cylinder_move_record(
            by=paper.by,
            cylinder=paper.cylinder,
            entry=entry,
            happened_on=paper.happened_on,
            filed_at=paper.filed_at,
        )
    return movement
