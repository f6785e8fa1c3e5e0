"""Files refrigerant sold to a buyer who may have it, with what was shown of that.

40 CFR 82.154(c) asks for it, and in the European Union Regulation (EU) 2024/573 Art. 11(6), 7(3).
"""

from dataclasses import dataclass
from typing import Unpack

from jobs.models import (
    US_CERTIFICATION_TYPES,
    BuyerBasis,
    BuyerProof,
    Cylinder,
    HolderKind,
    StockMovement,
    StockMovementKind,
)
from jobs.selectors.technicians import EU_CERTIFICATION_TYPES
from jobs.services.cylinder_books import BookRow, CylinderBook, lock_cylinder_books
from jobs.services.cylinder_limits import ContentsMove
from jobs.services.cylinder_travel import check_travel, travel_file
from jobs.services.entries import EnteredMass
from jobs.services.holders import external_holder
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from jobs.services.stock_paper import PaperFields, StockPaper, movement_filed_before
from jobs.services.stock_writing import check_mass, check_paper_day, in_grams, movement_write
from portal.accounts.models import User

BUYER_RULE = "40 CFR 82.154(c)(1)"
INVOICE_RULE = "40 CFR 82.154(c)(3)"
UNION_BUYER_RULE = "Regulation (EU) 2024/573 Art. 11(6), 7(3)"
RESALE_RULE = "40 CFR 82.154(d)"

WITH_CERTIFICATE = (BuyerBasis.CERTIFIED, BuyerBasis.EMPLOYER)


@dataclass(frozen=True)
class BuyerEntry:
    """Who buys, and why refrigerant may be sold to them; ``proof`` says what was shown and where the copy is kept.

    ``is_in_the_union`` says that it is sold in the European Union, whose certificates then count.
    """

    name: str
    basis: str
    technician_name: str = ""
    certification_type: str = ""
    certification_number: str = ""
    proof: str = ""
    is_in_the_union: bool = False


def sale_record(
    *,
    by: User,
    cylinder: Cylinder,
    buyer: BuyerEntry,
    mass: EnteredMass | None,
    **paper: Unpack[PaperFields],
) -> StockMovement:
    """File refrigerant sold out of a cylinder; the same submission twice is filed once.

    Args:
        by: who files.
        cylinder: what it was sold in or drawn from.
        buyer: who bought it, and the proof of certification.
        mass: as on the invoice; all that the cylinder holds on the day if None.
        paper: happened_on, document_number (of the invoice), and if known note, submission_id, filed_at;
            is_with_cylinder and moved_by where the cylinder is sold along.

    Raises:
        SubmissionRefused: the buyer's certification is not shown, the refrigerant was used by another owner and not
            reclaimed, it is mixed, the cylinder doesn't hold as much, or it goes along with a rest in it.
    """
    stated = StockPaper(
        *(by, StockMovementKind.SALE, cylinder), firm_field="buyer_name", firm_name=buyer.name, **paper
    )

    def file() -> StockMovement:
        book = lock_cylinder_books([cylinder])[cylinder.pk]
        return movement_filed_before(stated, book, mass) or _sell(stated, book, buyer, mass)

    return file_once(StockMovement, stated.submission_id, file)


def _sell(
    paper: StockPaper, book: CylinderBook, buyer: BuyerEntry, mass: EnteredMass | None
) -> StockMovement:
    refusals = Refusals()
    check_paper_day(refusals, paper)
    _check_buyer(refusals, buyer)
    if not paper.document_number.strip():
        citation = "" if buyer.is_in_the_union else INVOICE_RULE
        refusals.add("document_number", "", "Expected the number of the invoice.", citation)
    contents = book.contents_on(paper.happened_on)
    if not contents:
        refusals.add("happened_on", paper.happened_on, f"Cylinder {book.cylinder} holds nothing on that day.")
    refusals.raise_any()
    designation = min(contents)
    mass = mass or in_grams(contents[designation])
    check_mass(refusals, "mass", mass)
    if book.owners_on(paper.happened_on):
        expected = (
            f"Cylinder {book.cylinder} holds refrigerant recovered from an owner's appliance. It goes to a new owner "
            "only after reclamation: ship it to a reclaimer."
        )
        refusals.add("mass", str(mass), expected, RESALE_RULE)
    elif book.holds_bought_recycled_on(paper.happened_on) and not buyer.is_in_the_union:
        expected = (
            f"Cylinder {book.cylinder} holds refrigerant that was bought as recycled. Used refrigerant goes to a new "
            "owner only after reclamation: ship it to a reclaimer."
        )
        refusals.add("mass", str(mass), expected, RESALE_RULE)
    move = ContentsMove(book, BookRow(paper.happened_on, designation, -mass.mass_mg), mass_field="mass")
    move.check_reuse(refusals)
    move.check_draw(refusals)
    move.check_later_days(refusals)
    check_travel(refusals, paper, book)
    refusals.raise_any()
    holder = external_holder(HolderKind.BUYER, buyer.name)
    proof = BuyerProof(
        basis=buyer.basis,
        technician_name=buyer.technician_name.strip(),
        certification_type=buyer.certification_type,
        certification_number=buyer.certification_number.strip(),
        proof=buyer.proof.strip(),
    )
    moved = [(designation, book.cylinder.holder, holder, mass)]
    return travel_file(paper, movement_write(paper, moved, buyer_proof=proof))


def _check_buyer(refusals: Refusals, buyer: BuyerEntry) -> None:
    rule = UNION_BUYER_RULE if buyer.is_in_the_union else BUYER_RULE
    types = EU_CERTIFICATION_TYPES if buyer.is_in_the_union else US_CERTIFICATION_TYPES
    if not buyer.name.strip():
        citation = UNION_BUYER_RULE if buyer.is_in_the_union else INVOICE_RULE
        refusals.add("buyer_name", buyer.name, "Expected the name of the buyer.", citation)
    if buyer.basis not in BuyerBasis.values:
        expected = (
            "Expected why refrigerant may be sold to this buyer: certified, or one of the other reasons."
        )
        refusals.add("basis", buyer.basis, expected, rule)
    elif buyer.is_in_the_union and buyer.basis not in WITH_CERTIFICATE:
        expected = (
            "Expected a buyer who is certified or employs people who are: in the Union nobody else buys it."
        )
        refusals.add("basis", BuyerBasis(buyer.basis).label, expected, rule)
    if buyer.basis not in WITH_CERTIFICATE:
        return
    if not buyer.technician_name.strip():
        refusals.add("technician_name", "", "Expected the name of the certified technician.", rule)
    if buyer.certification_type not in types:
        where = "of the European Union" if buyer.is_in_the_union else "of 40 CFR 82.161"
        expected = f"Expected the type of the certificate, one {where}."
        refusals.add("certification_type", buyer.certification_type, expected, rule)
    if not buyer.certification_number.strip():
        refusals.add("certification_number", "", "Expected the number of the certificate.", rule)
    if buyer.basis == BuyerBasis.EMPLOYER and not buyer.proof.strip():
        expected = "Expected what was shown of the technician's employment, and where the copy is kept."
        refusals.add("proof", "", expected, rule)
