"""Files that a disposable cylinder's heel was removed, and where the heel and the cylinder went (40 CFR 84.116)."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Unpack

from jobs.models import (
    Cylinder,
    CylinderKind,
    HeelDestination,
    HeelRemoval,
    StockMovement,
    StockMovementKind,
    Technician,
)
from jobs.services.chain import chain_extend
from jobs.services.cylinder_books import BookRow, CylinderBook, lock_cylinder_books
from jobs.services.cylinder_limits import ContentsMove
from jobs.services.cylinder_records import RecordFields, RecordPaper, check_record_day
from jobs.services.entries import EnteredMass
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from jobs.services.stock_paper import StockPaper
from jobs.services.stock_writing import check_mass, movement_write
from portal.accounts.models import User

# The vacuum of 40 CFR 82.156(a), table 1, is relative to 29.9 in Hg: there is no deeper one.
DEEPEST_IN_HG_VACUUM = Decimal("29.9")


@dataclass(frozen=True)
class HeelEntry:
    """What is typed of a heel removed; ``into`` and ``mass`` where it was weighed into a cylinder of ours."""

    removed_by: Technician
    level_in_hg_vacuum: Decimal
    destination_kind: str
    destination_name: str
    statement: str
    into: Cylinder | None = None
    mass: EnteredMass | None = None


def heel_removal_record(
    *, by: User, cylinder: Cylinder, entry: HeelEntry, **fields: Unpack[RecordFields]
) -> HeelRemoval:
    """File a heel removed from a disposable cylinder; what was weighed moves in the ledger with it.

    Args:
        by: who files.
        cylinder: the disposable one.
        entry: by whom, to what level, where to, and the statement.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: it is no disposable cylinder, a field is missing, or the heel doesn't fit where it went.
    """
    paper = RecordPaper(by, cylinder, **fields)

    def file() -> HeelRemoval:
        both = [cylinder, entry.into] if entry.into else [cylinder]
        books = lock_cylinder_books(both)
        first = HeelRemoval.objects.filter(submission_id=paper.submission_id).first()
        return first or _file(paper, books, entry)

    return file_once(HeelRemoval, paper.submission_id, file)


def _file(paper: RecordPaper, books: dict[int, CylinderBook], entry: HeelEntry) -> HeelRemoval:
    refusals = Refusals()
    book = books[paper.cylinder.pk]
    check_record_day(refusals, paper)
    _check_entry(refusals, book, entry)
    movement = _move_heel(refusals, paper, books, entry)
    record = HeelRemoval(
        submission_id=paper.submission_id,
        cylinder=book.cylinder,
        happened_on=paper.happened_on,
        note=paper.note.strip(),
        filed_at=paper.filed_at,
        filed_by=paper.by,
        removed_by=entry.removed_by,
        level_in_hg_vacuum=entry.level_in_hg_vacuum,
        destination_kind=entry.destination_kind,
        destination_name=entry.destination_name.strip(),
        statement=entry.statement.strip(),
        movement=movement,
    )
    refusals.check_fields(record)
    refusals.raise_any()
    record.save()
    chain_extend(record, [book.cylinder])
    return record


def _check_entry(refusals: Refusals, book: CylinderBook, entry: HeelEntry) -> None:
    if book.cylinder.kind != CylinderKind.DISPOSABLE:
        expected = "Expected a disposable cylinder; a refillable one is emptied by a shipment or a return."
        refusals.add("cylinder", book.cylinder, expected)
    if not 0 <= entry.level_in_hg_vacuum <= DEEPEST_IN_HG_VACUUM:
        expected = f"Expected from 0 to {DEEPEST_IN_HG_VACUUM} in Hg vacuum."
        refusals.add("level_in_hg_vacuum", entry.level_in_hg_vacuum, expected)
    if entry.destination_kind not in HeelDestination.values:
        refusals.add("destination_kind", entry.destination_kind, "Expected where the cylinder went.")
    if not entry.destination_name.strip():
        refusals.add("destination_name", "", "Expected the name of the firm that takes the cylinder.")
    if not entry.statement.strip():
        refusals.add("statement", "", "Expected the statement that the heel was removed.")


def _move_heel(
    refusals: Refusals, paper: RecordPaper, books: dict[int, CylinderBook], entry: HeelEntry
) -> StockMovement | None:
    """Move the weighed heel into the cylinder that took it; None where nothing was weighed."""
    if entry.into is None and entry.mass is None:
        return None
    if entry.into is None or entry.mass is None:
        missing = "into" if entry.into is None else "mass"
        refusals.add(
            missing, "", "Expected both: the mass of the heel and the cylinder that took it, or neither."
        )
        return None
    if entry.into.pk == paper.cylinder.pk:
        refusals.add("into", entry.into, "Expected another cylinder.")
        return None
    source, target = books[paper.cylinder.pk], books[entry.into.pk]
    contents = source.contents_on(paper.happened_on)
    if not contents:
        refusals.add("mass", str(entry.mass), f"Cylinder {source.cylinder} holds nothing by its books.")
        return None
    check_mass(refusals, "mass", entry.mass)
    designation = min(contents)
    for book, signed_mg in ((source, -entry.mass.mass_mg), (target, entry.mass.mass_mg)):
        move = ContentsMove(
            book, BookRow(paper.happened_on, designation, signed_mg), mass_field="mass", cylinder_field="into"
        )
        if signed_mg > 0:
            move.check_fill(refusals)
        else:
            move.check_draw(refusals)
            if not target.is_marked_mixed_on(paper.happened_on):
                move.check_reuse(refusals)
        move.check_later_days(refusals)
    refusals.raise_any()
    stock = StockPaper(
        *(paper.by, StockMovementKind.HEEL, source.cylinder, paper.happened_on), filed_at=paper.filed_at
    )
    moved = [(designation, source.cylinder.holder, target.cylinder.holder, entry.mass)]
    return movement_write(stock, moved, others=[target.cylinder])
