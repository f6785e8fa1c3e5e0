"""A cylinder's life, newest first: what moved in and out of it, and every other record of it."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.db.models import Prefetch, Q

from compliance.rulebook.masses import format_mass
from jobs.models import (
    Contamination,
    Cylinder,
    CylinderMove,
    CylinderRecord,
    CylinderWeighing,
    HeelRemoval,
    Instrument,
    RequalificationPeriod,
    RequalificationResult,
    RequalificationTest,
    ShipmentReceipt,
    StockMovement,
    StockMovementKind,
    Transfer,
    Withdrawal,
)
from jobs.models.cylinder_records import WITHDRAWABLE as WITHDRAWABLE_COLUMNS
from jobs.selectors.cylinder_state import cylinder_movements
from jobs.selectors.instruments import calibration_on, with_calibrations
from jobs.selectors.receipts import (
    receipt_in_words,
    receipts_with_shipments,
    received_shipment,
    signed_mass,
)
from jobs.selectors.weighings import WeighedStock, standing_weighings, weighed_stock

# What no page offers to reverse: an appliance's opening isn't a cylinder's, a reversal is undone by filing anew.
NOT_REVERSED: tuple[str, ...] = (StockMovementKind.APPLIANCE_OPENING, StockMovementKind.REVERSAL)
WITHDRAWABLE = (CylinderMove, CylinderWeighing, ShipmentReceipt, Contamination, RequalificationTest)


@dataclass(frozen=True)
class LifeEntry:
    """One thing that happened to a cylinder: a transfer, or a record without mass in ``words``.

    ``undone`` says that it was withdrawn or reversed; the other marks say which action the page may offer.
    """

    on: datetime.date
    filed_at: datetime.datetime
    title: str
    words: str = ""
    by: str = ""
    transfer: Transfer | None = None
    record: CylinderRecord | None = None
    undone: str = ""
    may_be_withdrawn: bool = False
    reversible: StockMovement | None = None
    awaits_receipt: StockMovement | None = None
    open_difference: ShipmentReceipt | None = None


def cylinder_life(cylinder: Cylinder) -> list[LifeEntry]:
    """Tell everything on record of a cylinder, newest first; the registration comes last."""
    entries = [*_transfers(cylinder), *_receipt_differences(cylinder), *_records(cylinder)]
    return sorted(entries, key=lambda entry: (entry.on, entry.filed_at), reverse=True)


def last_weighing(cylinder: Cylinder) -> WeighedStock | None:
    """The newest standing weighing beside the books, if the cylinder was ever weighed."""
    newest = standing_weighings().filter(cylinder=cylinder).order_by("-happened_on", "-pk")[:1]
    return next(iter(weighed_stock(newest)), None)


def _transfers(cylinder: Cylinder) -> Iterator[LifeEntry]:
    rows = cylinder_movements(cylinder).select_related(
        *("event__filed_by", "stock_movement__filed_by", "stock_movement__reversed_by"),
        *("stock_movement__buyer_proof", "reversed_by"),
        *("from_holder__cylinder", "to_holder__cylinder"),
        *("from_holder__appliance__site", "to_holder__appliance__site"),
    )
    received = set(
        ShipmentReceipt.objects.filter(cylinder=cylinder, withdrawal=None).values_list(
            "shipment_id", flat=True
        )
    )
    for transfer in rows:
        record = transfer.event or transfer.stock_movement
        if record is None:
            continue
        movement = transfer.stock_movement
        is_reversed = hasattr(transfer, "reversed_by")
        open_movement = None if is_reversed or movement is None or movement.kind in NOT_REVERSED else movement
        is_unreceived = (
            open_movement is not None and open_movement.is_shipment and open_movement.pk not in received
        )
        yield LifeEntry(
            on=transfer.happened_on,
            filed_at=record.filed_at,
            title=movement.get_kind_display() if movement else str(record),
            words=movement.note if movement else "",
            by=str(record.filed_by),
            transfer=transfer,
            undone="Reversed" if is_reversed else "",
            reversible=open_movement if open_movement and open_movement.cylinder_id == cylinder.pk else None,
            awaits_receipt=open_movement if is_unreceived else None,
        )


def _receipt_differences(cylinder: Cylinder) -> Iterator[LifeEntry]:
    """What a receipt said beyond its shipment, and what undid it: nothing of it moves in the cylinder itself."""
    posted = StockMovement.objects.filter(
        Q(receipt__isnull=False) | Q(reverses__receipt__isnull=False), cylinder=cylinder
    )
    posted = posted.select_related("filed_by", "reversed_by", "reverses")
    for movement in posted.prefetch_related("transfers__from_holder", "transfers__to_holder"):
        moved = "; ".join(
            f"{format_mass(row.mass_mg)} of {row.refrigerant} from {row.from_holder} to {row.to_holder}"
            for row in movement.transfers.all()
        )
        is_open = movement.reverses is None and not hasattr(movement, "reversed_by")
        yield LifeEntry(
            on=movement.happened_on,
            filed_at=movement.filed_at,
            title=movement.get_kind_display(),
            words=f"{moved}. {movement.note}",
            by=str(movement.filed_by),
            undone="" if movement.reverses or is_open else "Reversed",
            reversible=movement if is_open else None,
        )


def _records(cylinder: Cylinder) -> Iterator[LifeEntry]:
    for move in CylinderMove.objects.filter(cylinder=cylinder).select_related("filed_by", "withdrawal"):
        words = f"From {move.from_where} to {move.where}, by {move.moved_by}. {move.get_reason_display()}."
        yield _entry(move, "Moved", words)
    weighings = CylinderWeighing.objects.filter(cylinder=cylinder).select_related(
        "filed_by", "withdrawal", "adjustment__reversed_by", "cylinder"
    )
    scales = Prefetch("scale", with_calibrations(Instrument.objects.all()))
    for stock in weighed_stock(weighings.prefetch_related(scales)):
        yield _entry(stock.weighing, "Weighed", weighing_in_words(stock))
    for receipt in receipts_with_shipments().filter(cylinder=cylinder):
        received = received_shipment(receipt)
        entry = _entry(receipt, "Receipt of a shipment", receipt_in_words(received))
        is_open = received.may_be_posted and not entry.undone
        yield replace(entry, open_difference=receipt if is_open else None)
    for mark in Contamination.objects.filter(cylinder=cylinder).select_related("filed_by", "withdrawal"):
        of = f"{' and '.join(mark.refrigerants)}. " if mark.refrigerants else ""
        yield _entry(mark, "Marked as mixed or contaminated", f"{of}{mark.finding}")
    for heel in HeelRemoval.objects.filter(cylinder=cylinder).select_related("filed_by", "removed_by"):
        words = (
            f"By {heel.removed_by} to {heel.level_in_hg_vacuum.normalize():f} in Hg vacuum; the cylinder went to "
            f"{heel.destination_name} ({heel.get_destination_kind_display().lower()}). {heel.statement}"
        )
        yield _entry(heel, "Heel removed", words)
    for period in RequalificationPeriod.objects.filter(cylinder=cylinder).select_related("filed_by"):
        yield _entry(period, "Requalification period", f"{period.years} years: {period.reason}")
    for test in RequalificationTest.objects.filter(cylinder=cylinder).select_related(
        "filed_by", "withdrawal"
    ):
        title = "Requalified" if test.result == RequalificationResult.PASSED else "Condemned"
        yield _entry(test, title, requalification_in_words(test))
    withdrawals = Withdrawal.objects.filter(cylinder=cylinder).select_related(
        "filed_by", *WITHDRAWABLE_COLUMNS
    )
    for withdrawal in withdrawals:
        named = withdrawal.withdrawn
        words = f"The {named._meta.verbose_name} of {named.happened_on} counts no more: {withdrawal.reason}"  # noqa: SLF001
        yield _entry(withdrawal, "Withdrawn", words)


def weighing_in_words(stock: WeighedStock) -> str:
    """A weighing beside the books, as one line."""
    weighing = stock.weighing
    gross = f"{weighing.as_typed} gross, {format_mass(weighing.net_mg)} net"
    books = f"the books gave {format_mass(stock.book_mg)}"
    within = "within" if stock.is_within_uncertainty else "beyond"
    scale = f" on {weighing.scale}, {_calibrated(weighing)}" if weighing.scale else ""
    return (
        f"{gross}{scale}; {books}. Difference {signed_mass(stock.difference_mg)}, {within} the scale's "
        f"± {format_mass(weighing.uncertainty_mg)}.{' The books were adjusted.' if stock.adjustment else ''}"
    )


def _calibrated(weighing: CylinderWeighing) -> str:
    """How the calibration of a weighing's scale stood on its day."""
    calibration = calibration_on(weighing.scale, weighing.happened_on) if weighing.scale else None
    if calibration is None:
        return "with no calibration on record"
    if not calibration.holds_on(weighing.happened_on):
        return f"whose calibration had run out on {calibration.due_on}"
    return f"calibrated until {calibration.due_on}"


def requalification_in_words(test: RequalificationTest) -> str:
    """A requalification test as one line, with what the cylinder is marked with if it passed."""
    pressure = f" at {test.test_pressure_psi} psig" if test.test_pressure_psi else ""
    report = f", report no. {test.document_number}" if test.document_number else ""
    by = f"{test.get_method_display()}{pressure} by {test.requalifier}, RIN {test.identification_number}{report}."
    if test.result == RequalificationResult.CONDEMNED:
        return f"{by} {test.reason}"
    return f"{by} Marked {test.marking}."


def _entry(record: CylinderRecord, title: str, words: str) -> LifeEntry:
    is_withdrawn = hasattr(record, "withdrawal")
    return LifeEntry(
        on=record.happened_on,
        filed_at=record.filed_at,
        title=title,
        words=" ".join(part for part in (words, record.note) if part),
        by=str(record.filed_by),
        record=record,
        undone="Withdrawn" if is_withdrawn else "",
        may_be_withdrawn=isinstance(record, WITHDRAWABLE) and not is_withdrawn,
    )
