"""The acts of a cylinder's life with sound values, as people file them."""

import datetime
from decimal import Decimal

from jobs.models import StockMovement
from jobs.services.cylinder_conditions import contamination_record, requalification_period_record
from jobs.services.cylinder_moves import MoveEntry, cylinder_move_record
from jobs.services.cylinder_weighings import cylinder_weighing_record
from jobs.services.heel_removals import HeelEntry, heel_removal_record
from jobs.services.receipt_differences import receipt_difference_post
from jobs.services.requalification_tests import RequalificationEntry, requalification_test_record
from jobs.services.shipment_receipts import shipment_receipt_record
from jobs.services.stock_adjustments import stock_adjust
from jobs.services.stock_reversals import stock_movement_reverse
from jobs.services.stock_sales import BuyerEntry, sale_record
from jobs.services.withdrawals import withdrawal_record
from tests.factories import FILED_AT, HAPPENED_ON, TechnicianFactory, UserFactory, entered

CERTIFIED_BUYER = BuyerEntry(
    name="Quarry Lane Cooling",
    basis="certified",
    technician_name="Ada Quill",
    certification_type="universal",
    certification_number="U-77120",
)
COMMON = ("by", "happened_on", "note", "submission_id", "filed_at")


def _filed(fields):
    return {"by": UserFactory(), "happened_on": HAPPENED_ON, "filed_at": FILED_AT, **fields}


def move(cylinder, place="shop", **fields):
    common = {name: fields.pop(name) for name in COMMON if name in fields}
    entry = MoveEntry(place, **{"moved_by": "Ivo Brandt", **fields})
    return cylinder_move_record(cylinder=cylinder, entry=entry, **_filed(common))


def weigh(cylinder, gross, uncertainty="0.1 lb", **fields):
    masses = {"gross": entered(gross), "uncertainty": entered(uncertainty)}
    return cylinder_weighing_record(cylinder=cylinder, **masses, **_filed(fields))


def receive(shipment, mass, **fields):
    values = {"mass": entered(mass), "document_number": "RC-18", **fields}
    return shipment_receipt_record(shipment=shipment, **_filed(values))


def mark_mixed(cylinder, *refrigerants, **fields):
    values = {"finding": "Pressure above the table after a day in the shop.", **fields}
    return contamination_record(cylinder=cylinder, refrigerants=refrigerants, **_filed(values))


def decide_period(cylinder, years, **fields):
    values = {"reason": "Holds reclaimed refrigerant alone.", **fields}
    return requalification_period_record(cylinder=cylinder, years=years, **_filed(values))


def requalify(cylinder, result="passed", **fields):
    common = {name: fields.pop(name) for name in COMMON if name in fields}
    values = {
        "method": "proof_pressure",
        "requalifier": "Ironbridge Testing",
        "identification_number": "h417",
        "reason": "" if result == "passed" else "Pit in the lower head.",
        **fields,
    }
    entry = RequalificationEntry(result=result, **values)
    return requalification_test_record(cylinder=cylinder, entry=entry, **_filed(common))


def remove_heel(
    cylinder, into=None, mass=None, *, by=None, filed_at=FILED_AT, happened_on=HAPPENED_ON, **fields
):
    values = {
        "removed_by": fields.pop("removed_by", None) or TechnicianFactory(),
        "level_in_hg_vacuum": Decimal(15),
        "destination_kind": "final_processor",
        "destination_name": "Marsh Metals",
        "statement": "The heel was removed to 15 in Hg vacuum.",
        **fields,
    }
    entry = HeelEntry(into=into, mass=entered(mass) if mass else None, **values)
    fields = {"happened_on": happened_on, "filed_at": filed_at}
    return heel_removal_record(by=by or UserFactory(), cylinder=cylinder, entry=entry, **fields)


def withdraw(record, reason="Wrong cylinder.", **fields):
    return withdrawal_record(record=record, reason=reason, **_filed(fields))


def sell(cylinder, mass=None, buyer=CERTIFIED_BUYER, **fields):
    values = {"document_number": "S-301", **fields}
    return sale_record(cylinder=cylinder, buyer=buyer, mass=entered(mass) if mass else None, **_filed(values))


def adjust(weighing, reason="A hose was vented into the recovery machine.", **fields):
    values = {"by": UserFactory(), "filed_at": FILED_AT + datetime.timedelta(hours=1), **fields}
    return stock_adjust(weighing=weighing, reason=reason, **values)


def post_difference(receipt, reason="The facility's scale reads in pounds alone.", **fields):
    values = {"by": UserFactory(), "filed_at": FILED_AT + datetime.timedelta(hours=1), **fields}
    return receipt_difference_post(receipt=receipt, reason=reason, **values)


def reverse(movement: StockMovement, reason="Filed on the wrong cylinder.", **fields):
    values = {"by": UserFactory(), "filed_at": FILED_AT, **fields}
    return stock_movement_reverse(movement=movement, reason=reason, **values)
