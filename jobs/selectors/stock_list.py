"""Movements of stock as the office keeps them: purchases, sales and shipments with their papers."""

import datetime

from django.db.models import Q, QuerySet

from compliance.rulebook.dates import add_years
from compliance.rulebook.tables import load_tables
from jobs.models import StockMovement, StockMovementKind

LISTED = (
    *(StockMovementKind.PURCHASE, StockMovementKind.SALE, StockMovementKind.RECLAMATION),
    *(StockMovementKind.DESTRUCTION, StockMovementKind.RECEIPT_DIFFERENCE, StockMovementKind.ADJUSTMENT),
    StockMovementKind.REVERSAL,
)


def stock_list(*, search: str = "", kind: str = "") -> QuerySet[StockMovement]:
    """List movements of stock, newest first.

    Args:
        search: part of a document number, serial number, firm or refrigerant; all unless given.
        kind: of this kind alone; of all listed unless given.
    """
    movements = StockMovement.objects.filter(kind__in=[kind] if kind in LISTED else LISTED)
    if search := search.strip():
        found = movements.filter(
            Q(document_number__icontains=search)
            | Q(cylinder__serial_number__icontains=search)
            | Q(transfers__from_holder__name__icontains=search)
            | Q(transfers__to_holder__name__icontains=search)
            | Q(transfers__refrigerant__icontains=search)
        )
        movements = movements.filter(pk__in=found.values("pk"))
    return (
        movements.select_related("cylinder", "filed_by", "reversed_by", "buyer_proof")
        .prefetch_related(
            *("transfers__from_holder__cylinder", "transfers__to_holder__cylinder"),
            "receipts__withdrawal",
        )
        .order_by("-happened_on", "-pk")
    )


def sale_kept_until(sold_on: datetime.date) -> datetime.date:
    """The last day until which a sale's record is to be kept (40 CFR 82.154(c)(3))."""
    row = load_tables().row("us-federal-cylinders", "sale_record_retention", on=sold_on)
    return add_years(sold_on, row.count)
