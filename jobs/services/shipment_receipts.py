"""Files what a reclaimer or destruction facility says that it received."""

from typing import Unpack

from jobs.models import ShipmentReceipt, StockMovement
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_records import RecordFields, RecordPaper, record_file
from jobs.services.entries import EnteredMass
from jobs.services.refusals import Refusals
from portal.accounts.models import User


def shipment_receipt_record(
    *,
    by: User,
    shipment: StockMovement,
    mass: EnteredMass,
    document_number: str,
    **fields: Unpack[RecordFields],
) -> ShipmentReceipt:
    """File the receipt of a shipment; the books keep what was shipped, and the difference is shown.

    Args:
        by: who files.
        shipment: what was sent for reclamation or destruction.
        mass: what the firm says that it received.
        document_number: of the receipt.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: it is no shipment, it was reversed, or its receipt is on record already.
    """
    cylinder = shipment.cylinder
    if cylinder is None:
        message = f"{shipment} is no shipment of a cylinder"
        raise ValueError(message)
    paper = RecordPaper(by, cylinder, **fields)

    def build(refusals: Refusals, book: CylinderBook) -> ShipmentReceipt:
        current = StockMovement.objects.select_related("reversed_by").get(pk=shipment.pk)
        standing = current.receipts.filter(withdrawal=None).exclude(submission_id=paper.submission_id).first()
        if not current.is_shipment:
            refusals.add("shipment", current, "Expected a shipment to a reclaimer or destruction facility.")
        elif hasattr(current, "reversed_by"):
            refusals.add("shipment", current, "Expected a shipment that stands: this one was reversed.")
        elif standing:
            expected = (
                f"Its receipt no. {standing.document_number} is on record. Withdraw that one if it is wrong."
            )
            refusals.add("shipment", current, expected)
        if paper.happened_on < current.happened_on:
            expected = f"Expected a day no earlier than {current.happened_on}, when it was sent."
            refusals.add("happened_on", paper.happened_on, expected)
        if mass.mass_mg <= 0:
            refusals.add("mass", str(mass), "Expected a mass above zero.")
        if not document_number.strip():
            refusals.add("document_number", document_number, "Expected the number of the receipt.")
        return ShipmentReceipt(
            shipment=current,
            mass_mg=mass.mass_mg,
            entered_value=mass.value,
            entered_unit=mass.unit,
            document_number=document_number.strip(),
        )

    return record_file(ShipmentReceipt, paper, build)
