"""Files what comes into and leaves the firm's stock: opening contents, purchases, shipments."""

import datetime
from dataclasses import replace
from typing import Unpack

from jobs.models import Cylinder, HolderKind, StockMovement, StockMovementKind, SupplyStatus
from jobs.models.stock import USED_BEFORE
from jobs.selectors.shipping_papers import last_consignee_address, last_emergency_telephone
from jobs.services.cylinder_books import BookRow, CylinderBook, lock_cylinder_books
from jobs.services.cylinder_limits import ContentsMove
from jobs.services.cylinder_travel import check_travel, travel_file
from jobs.services.entries import EnteredMass
from jobs.services.holders import external_holder
from jobs.services.once import file_once
from jobs.services.refusals import Refusals, known_designation
from jobs.services.stock_paper import PaperFields, StockPaper, movement_filed_before
from jobs.services.stock_writing import check_mass, check_paper_day, in_grams, movement_write
from portal.accounts.models import User

TELEPHONE_RULE = "49 CFR 172.604"
# Of a telephone number with its area code, in any country.
_FEWEST_DIGITS = 7

SHIPMENT_KINDS = {
    HolderKind.RECLAIMER.value: StockMovementKind.RECLAMATION,
    HolderKind.DESTRUCTION_FACILITY.value: StockMovementKind.DESTRUCTION,
}


def purchase_record(
    *,
    by: User,
    cylinder: Cylinder,
    supplier_name: str,
    refrigerant: str,
    mass: EnteredMass,
    supply_status: str = SupplyStatus.VIRGIN,
    **paper: Unpack[PaperFields],
) -> StockMovement:
    """File refrigerant bought in a cylinder; the same submission twice is filed once.

    Args:
        by: who files.
        cylinder: what it came in.
        supplier_name: who sold it.
        refrigerant: ASHRAE 34 designation.
        mass: as on the invoice or weighed.
        supply_status: ``virgin``, ``reclaimed`` for what comes back from a reclaimer, or ``recycled``.
        paper: happened_on, and if known document_number, note, submission_id (made by the form), filed_at; of reclaimed
            or recycled refrigerant the facility, its name and address, and facility_certificate, as the European
            equipment record asks (Regulation (EU) 2024/573 Art. 7(1)(d)).

    Raises:
        SubmissionRefused: a field is not valid, the cylinder can't hold it or holds another refrigerant, or the same
            submission was filed with other contents.
    """
    stated = StockPaper(
        *(by, StockMovementKind.PURCHASE, cylinder),
        firm_field="supplier_name",
        firm_name=supplier_name,
        supply_status=supply_status,
        **paper,
    )

    def file() -> StockMovement:
        book = lock_cylinder_books([cylinder])[cylinder.pk]
        first = movement_filed_before(stated, book, mass, refrigerant)
        return first or _purchase(stated, book, refrigerant, mass)

    return file_once(StockMovement, stated.submission_id, file)


def shipment_record(
    *,
    by: User,
    cylinder: Cylinder,
    destination_kind: str,
    destination_name: str,
    mass: EnteredMass | None,
    **paper: Unpack[PaperFields],
) -> StockMovement:
    """File a cylinder's contents, or a mass of them, sent to a reclaimer or a destruction facility.

    Args:
        by: who files.
        cylinder: what is sent or emptied.
        destination_kind: ``reclaimer`` or ``destruction_facility``.
        destination_name: the firm that took it (40 CFR 82.156(a)(3)(iii)).
        mass: what was taken; all that the cylinder holds on the day if None.
        paper: happened_on, and if known document_number, note, submission_id (made by the form), filed_at;
            consignee_address and emergency_telephone as the shipping paper says them, left empty: as on the last one;
            is_with_cylinder and moved_by where the cylinder goes along.

    Raises:
        SubmissionRefused: a field is not valid, the cylinder doesn't hold as much, it goes along with a rest in it, or
            the same submission was filed with other contents.
    """
    kind = SHIPMENT_KINDS.get(destination_kind, StockMovementKind.RECLAMATION)
    stated = StockPaper(
        *(by, kind, cylinder),
        firm_field="destination_name",
        firm_name=destination_name,
        kind_field="destination_kind",
        **paper,
    )

    def file() -> StockMovement:
        book = lock_cylinder_books([cylinder])[cylinder.pk]
        return movement_filed_before(stated, book, mass) or _ship(stated, book, destination_kind, mass)

    return file_once(StockMovement, stated.submission_id, file)


def opening_record(
    *,
    by: User,
    cylinder: Cylinder,
    mass: EnteredMass,
    happened_on: datetime.date,
    filed_at: datetime.datetime,
) -> StockMovement:
    """File what a cylinder held when its books began; called as it is registered.

    Raises:
        SubmissionRefused: no refrigerant is named, or the cylinder can't hold as much.
    """
    paper = StockPaper(by, StockMovementKind.OPENING, cylinder, happened_on, filed_at=filed_at)
    refusals = Refusals()
    book = lock_cylinder_books([cylinder])[cylinder.pk]
    check_paper_day(refusals, paper, name="contents_on")
    if not cylinder.refrigerant:
        refusals.add("refrigerant", "", "Expected the refrigerant that the cylinder holds.")
    check_mass(refusals, "contents", mass)
    row = BookRow(happened_on, cylinder.refrigerant, mass.mass_mg)
    ContentsMove(book, row, mass_field="contents").check_delivery(refusals)
    refusals.raise_any()
    source = external_holder(HolderKind.OPENING_BALANCE)
    return movement_write(paper, [(cylinder.refrigerant, source, book.cylinder.holder, mass)])


def _purchase(paper: StockPaper, book: CylinderBook, refrigerant: str, mass: EnteredMass) -> StockMovement:
    refusals = Refusals()
    designation = known_designation(refusals, "refrigerant", refrigerant)
    if not paper.firm_name.strip():
        refusals.add("supplier_name", paper.firm_name, "Expected the supplier's name.")
    if paper.supply_status not in SupplyStatus.values:
        refusals.add("supply_status", paper.supply_status, f"Expected {' or '.join(SupplyStatus.values)}.")
    if paper.supply_status not in USED_BEFORE:
        for name in ("facility", "facility_certificate"):
            if typed := getattr(paper, name).strip():
                refusals.add(name, typed, "Expected nothing, since the refrigerant is new.")
    check_paper_day(refusals, paper)
    check_mass(refusals, "mass", mass)
    row = BookRow(paper.happened_on, designation, mass.mass_mg)
    move = ContentsMove(book, row, mass_field="mass", cylinder_field="refrigerant")
    move.check_delivery(refusals)
    move.check_later_days(refusals)
    refusals.raise_any()
    supplier = external_holder(HolderKind.SUPPLIER, paper.firm_name)
    return movement_write(paper, [(designation, supplier, book.cylinder.holder, mass)])


def _ship(
    paper: StockPaper, book: CylinderBook, destination_kind: str, mass: EnteredMass | None
) -> StockMovement:
    refusals = Refusals()
    if destination_kind not in SHIPMENT_KINDS:
        refusals.add("destination_kind", destination_kind, "Expected reclaimer or destruction_facility.")
    if not paper.firm_name.strip():
        refusals.add("destination_name", paper.firm_name, "Expected the name of the firm that took it.")
    check_paper_day(refusals, paper)
    _check_telephone(refusals, paper.emergency_telephone)
    shipped = _shipped(refusals, book, paper.happened_on, mass)
    for designation, part in shipped:
        move = ContentsMove(book, BookRow(paper.happened_on, designation, -part.mass_mg), mass_field="mass")
        move.check_draw(refusals)
        move.check_later_days(refusals)
    check_travel(refusals, paper, book)
    refusals.raise_any()
    destination = external_holder(HolderKind(destination_kind), paper.firm_name)
    moved = [(name, book.cylinder.holder, destination, part) for name, part in shipped]
    stated = replace(
        paper,
        consignee_address=paper.consignee_address.strip() or last_consignee_address(destination),
        emergency_telephone=paper.emergency_telephone.strip() or last_emergency_telephone(),
    )
    return travel_file(paper, movement_write(stated, moved))


def _check_telephone(refusals: Refusals, telephone: str) -> None:
    if telephone.strip() and sum(character.isdigit() for character in telephone) < _FEWEST_DIGITS:
        expected = "Expected a telephone number with its area code, and whose it is."
        refusals.add("emergency_telephone", telephone, expected, TELEPHONE_RULE)


def _shipped(
    refusals: Refusals, book: CylinderBook, day: datetime.date, mass: EnteredMass | None
) -> list[tuple[str, EnteredMass]]:
    """What leaves the cylinder: the mass given of its one refrigerant, or all that it holds."""
    contents = book.contents_on(day)
    if not contents:
        refusals.add("happened_on", day, f"Cylinder {book.cylinder} holds nothing on that day.")
        return []
    if mass is None:
        return [(name, in_grams(mass_mg)) for name, mass_mg in sorted(contents.items())]
    check_mass(refusals, "mass", mass)
    if len(contents) > 1:
        refusals.add("mass", str(mass), "Expected all of the contents: the cylinder holds a mixture.")
    return [(min(contents), mass)]
