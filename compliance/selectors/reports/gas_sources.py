"""What the gas in cylinders was bought as: new, or reclaimed or recycled, where and by whom sold."""

from collections import defaultdict
from collections.abc import Collection
from datetime import date, datetime

from jobs.models import StockMovement, StockMovementKind, Transfer

#: What stands for a facility of whom no record says where it is.
FACILITY_UNKNOWN = "name and address not recorded"
#: The account of a cylinder -> its purchases in order of their days.
Purchases = defaultdict[int, list[Transfer]]


def purchases_known(holder_ids: Collection[int], known_at: datetime) -> Purchases:
    """The purchases that filled cylinders, as known at an instant and without those reversed by then."""
    reversals = StockMovement.objects.filter(reverses__isnull=False, filed_at__lte=known_at)
    bought = (
        Transfer.objects.filter(
            to_holder__in=holder_ids,
            reverses=None,
            stock_movement__kind=StockMovementKind.PURCHASE,
            stock_movement__filed_at__lte=known_at,
        )
        .exclude(stock_movement__in=reversals.values("reverses"))
        .select_related("stock_movement", "from_holder")
        .order_by("happened_on", "pk")
    )
    purchases: Purchases = defaultdict(list)
    for row in bought:
        purchases[row.to_holder_id].append(row)
    return purchases


def source_words(purchases: list[Transfer], on: date, *, is_recycled: bool) -> str:
    """From whom used gas was bought and where it was reclaimed or recycled; nothing of new gas.

    What the last purchase up to the day brought counts. ``is_recycled`` says that the visit's record states it of what
    it had recovered, of which no facility is on record.

    Source: Regulation (EU) 2024/573, Art. 7(1)(d): name and address of the facility and, where applicable, its
    certificate number.
    """
    before = [row for row in purchases if row.happened_on <= on]
    movement = before[-1].stock_movement if before else None
    if movement is None or not movement.is_of_used:
        return f"recycled; facility: {FACILITY_UNKNOWN}" if is_recycled else ""
    document = f", {movement.document_number}" if movement.document_number else ""
    facility = " ".join(movement.facility.split()) or FACILITY_UNKNOWN
    certificate = (
        f", certificate no. {movement.facility_certificate}" if movement.facility_certificate else ""
    )
    return f"{movement.supply_status}, from {before[-1].from_holder.name}{document}; facility: {facility}{certificate}"
