"""What a receipt says of its shipment: the mass that the firm received against the mass that was sent."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from compliance.rulebook.masses import format_mass
from jobs.models import SHIPMENTS, ShipmentReceipt, StockMovement


@dataclass(frozen=True)
class ReceivedShipment:
    """A shipment beside its receipt, if it has one that stands; masses in mg.

    Attributes:
        shipped: designation -> mass sent.
        posted: the movement that brought the books to the receipt, if one was filed and stands.
        was_posted: whether one was filed at all: a receipt's difference is posted once.
    """

    shipment: StockMovement
    receipt: ShipmentReceipt | None
    shipped: dict[str, int]
    posted: StockMovement | None
    was_posted: bool

    @property
    def shipped_mg(self) -> int:
        """All that was sent."""
        return sum(self.shipped.values())

    @property
    def difference_mg(self) -> int:
        """What was received beyond what was sent: below zero, less arrived; zero without a receipt."""
        return self.receipt.mass_mg - self.shipped_mg if self.receipt else 0

    @property
    def may_be_posted(self) -> bool:
        """Whether there is a difference that nobody has posted."""
        return self.difference_mg != 0 and not self.was_posted

    @property
    def firm(self) -> str:
        """Who it was sent to."""
        return next((str(row.to_holder) for row in self.shipment.transfers.all()), "")


def received_shipment(receipt: ShipmentReceipt) -> ReceivedShipment:
    """One receipt beside its shipment, whether or not the receipt was withdrawn."""
    adjustment = getattr(receipt, "adjustment", None)
    stands = adjustment is not None and not hasattr(adjustment, "reversed_by")
    return ReceivedShipment(
        shipment=receipt.shipment,
        receipt=receipt,
        shipped=_shipped(receipt.shipment),
        posted=adjustment if stands else None,
        was_posted=adjustment is not None,
    )


def receipts_with_shipments() -> QuerySet[ShipmentReceipt]:
    """Receipts with what their comparison reads."""
    return ShipmentReceipt.objects.select_related(
        "filed_by", "withdrawal", "shipment__cylinder", "adjustment__reversed_by"
    ).prefetch_related("shipment__transfers__to_holder")


def shipments_of(first_on: datetime.date, last_on: datetime.date) -> list[ReceivedShipment]:
    """Shipments that a period is about: sent or received in it, or sent before and not received by its end.

    Reversed shipments and withdrawn receipts are left out.
    """
    shipments = (
        StockMovement.objects.filter(kind__in=SHIPMENTS, reversed_by=None, happened_on__lte=last_on)
        .select_related("cylinder")
        .prefetch_related(
            "transfers__to_holder",
            Prefetch("receipts", receipts_with_shipments().filter(withdrawal=None), to_attr="standing"),
        )
        .order_by("happened_on", "pk")
    )
    found = []
    for shipment in shipments:
        receipt = next((row for row in shipment.standing if row.happened_on <= last_on), None)
        if shipment.happened_on >= first_on or receipt is None or receipt.happened_on >= first_on:
            bare = ReceivedShipment(shipment, None, _shipped(shipment), None, was_posted=False)
            found.append(received_shipment(receipt) if receipt else bare)
    return found


def share_out(total_mg: int, parts: Mapping[str, int]) -> dict[str, int]:
    """Share a mass out in proportion to others, so that the shares sum to it exactly.

    Args:
        total_mg: what is shared out, zero or more.
        parts: name -> mass in mg above zero.

    Returns:
        name -> mass in mg; each is within one milligram of its exact share.

    Example:
        >>> share_out(10, {"R-22": 1, "R-410A": 2})
        {'R-22': 3, 'R-410A': 7}
    """
    whole_mg = sum(parts.values())
    shares, counted_mg, given_mg = {}, 0, 0
    for name, mass_mg in parts.items():
        counted_mg += mass_mg
        upto_mg = total_mg * counted_mg // whole_mg
        shares[name] = upto_mg - given_mg
        given_mg = upto_mg
    return shares


def receipt_in_words(received: ReceivedShipment) -> str:
    """A receipt beside what was shipped, as one line."""
    receipt = received.receipt
    if receipt is None:
        return f"{format_mass(received.shipped_mg)} shipped; no receipt yet."
    posted = " It was posted." if received.posted else ""
    return (
        f"{receipt.as_typed} received, no. {receipt.document_number}; {format_mass(received.shipped_mg)} shipped. "
        f"Difference {signed_mass(received.difference_mg)}.{posted}"
    )


def signed_mass(mass_mg: int) -> str:
    """A difference with its sign."""
    sign = "−" if mass_mg < 0 else "+" if mass_mg else ""
    return f"{sign}{format_mass(abs(mass_mg))}"


def _shipped(shipment: StockMovement) -> dict[str, int]:
    rows = sorted(shipment.transfers.all(), key=lambda row: row.position)
    shipped: dict[str, int] = {}
    for row in rows:
        shipped[row.refrigerant] = shipped.get(row.refrigerant, 0) + row.mass_mg
    return shipped
