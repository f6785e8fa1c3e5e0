"""Writes a checked movement of stock: its record, its transfers and its place in the cylinders' chains."""

from collections.abc import Iterable
from decimal import Decimal

from django.utils import timezone

from jobs.models import (
    BuyerProof,
    Cylinder,
    CylinderWeighing,
    Holder,
    MassUnit,
    ShipmentReceipt,
    StockMovement,
    Transfer,
)
from jobs.services.chain import chain_extend
from jobs.services.entries import EnteredMass
from jobs.services.refusals import Refusals
from jobs.services.stock_paper import StockPaper

# (designation, from, to, mass) of each transfer.
Moved = tuple[str, Holder, Holder, EnteredMass]


def in_grams(mass_mg: int) -> EnteredMass:
    """A mass from the books in the form of one that was typed; a thousandth of a gram is a milligram."""
    return EnteredMass(f"{Decimal(mass_mg).scaleb(-3).normalize():f}", MassUnit.G, mass_mg)


def check_paper_day(refusals: Refusals, paper: StockPaper, name: str = "happened_on") -> None:
    """Note a day in the future or absurdly long ago."""
    refusals.check_day(name, paper.happened_on, latest=timezone.localdate(paper.filed_at))


def check_mass(refusals: Refusals, name: str, mass: EnteredMass) -> None:
    """Note a mass of zero or less."""
    if mass.mass_mg <= 0:
        refusals.add(name, str(mass), "Expected a mass above zero.")


def movement_write(
    paper: StockPaper,
    moved: Iterable[Moved],
    *,
    others: Iterable[Cylinder] = (),
    buyer_proof: BuyerProof | None = None,
    weighing: CylinderWeighing | None = None,
    receipt: ShipmentReceipt | None = None,
) -> StockMovement:
    """Save a movement with its transfers and lengthen the chains; the caller holds locks on the cylinders.

    Args:
        paper: what it says; its cylinder is the one that the movement stands under.
        moved: its transfers, in order.
        others: further cylinders that it moves something into or out of.
        buyer_proof: of a sale, unsaved.
        weighing: the one that an adjustment follows.
        receipt: the one whose difference is posted.

    Raises:
        SubmissionRefused: a text is missing or too long.
    """
    refusals = Refusals()
    movement = StockMovement(
        submission_id=paper.submission_id,
        kind=paper.kind,
        cylinder=paper.cylinder,
        happened_on=paper.happened_on,
        document_number=paper.document_number.strip(),
        note=paper.note.strip(),
        supply_status=paper.supply_status,
        facility=paper.facility.strip(),
        facility_certificate=paper.facility_certificate.strip(),
        consignee_address=paper.consignee_address.strip(),
        emergency_telephone=paper.emergency_telephone.strip(),
        weighing=weighing,
        receipt=receipt,
        filed_at=paper.filed_at,
        filed_by=paper.by,
    )
    refusals.check_fields(movement)
    if buyer_proof:
        refusals.check_fields(buyer_proof)
    refusals.raise_any()
    movement.save()
    if buyer_proof:
        buyer_proof.movement = movement
        buyer_proof.save()
    for position, (designation, source, destination, mass) in enumerate(moved):
        Transfer.objects.create(
            stock_movement=movement,
            position=position,
            refrigerant=designation,
            from_holder=source,
            to_holder=destination,
            mass_mg=mass.mass_mg,
            entered_value=mass.value,
            entered_unit=mass.unit,
            happened_on=paper.happened_on,
        )
    chain_extend(movement, [paper.cylinder, *others])
    return movement
