"""Movements of stock as the office keeps them: purchases, sales and shipments with their papers."""

import datetime
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from compliance.rulebook.dates import add_years
from compliance.rulebook.tables import Row, load_tables
from jobs.models import StockMovement, StockMovementKind
from jobs.selectors.technicians import EU_CERTIFICATION_TYPES

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


@dataclass(frozen=True)
class Kept:
    """The last day until which a record is to be kept, and where that is written."""

    until: datetime.date
    citation: str


def sale_retention(on: datetime.date, *, is_in_the_union: bool) -> Row:
    """How long the record of a sale on a day is to be kept: by the law of the buyer's certificate.

    Source: 40 CFR 82.154(c)(3); Regulation (EU) 2024/573 Art. 7(3).
    """
    tables = load_tables()
    of_the_union = tables.find("eu-certification", "purchaser_record_retention", on=on)
    if is_in_the_union and of_the_union:
        return of_the_union
    return tables.row("us-federal-cylinders", "sale_record_retention", on=on)


def sale_kept(sale: StockMovement) -> Kept:
    """Until when a sale's record is to be kept."""
    proof = getattr(sale, "buyer_proof", None)
    is_in_the_union = bool(proof and proof.certification_type in EU_CERTIFICATION_TYPES)
    row = sale_retention(sale.happened_on, is_in_the_union=is_in_the_union)
    return Kept(add_years(sale.happened_on, row.count), row.citation)
