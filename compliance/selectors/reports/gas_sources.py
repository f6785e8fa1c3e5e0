"""What the gas in cylinders was bought as: new, or reclaimed or recycled, where and by whom sold."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Q

from compliance.selectors.reports.ledger_years import transfers_known
from jobs.models import StockMovement, StockMovementKind, SupplyStatus, Transfer

#: What stands for a facility of whom no record says where it is.
FACILITY_UNKNOWN = "name and address not recorded"


@dataclass(frozen=True)
class GasSources:
    """What moved into and out of cylinders: account of a cylinder -> transfers in order of their days."""

    moved: defaultdict[int, list[Transfer]] = field(default_factory=lambda: defaultdict(list))

    def bought(self, holder_id: int, on: date) -> list[Transfer]:
        """The purchases that may be in a cylinder on a day: those since it was last empty before it.

        What was taken out on the day itself is what is asked about.
        """
        purchases: list[Transfer] = []
        held_mg = 0
        for row in self.moved[holder_id]:
            is_in = row.to_holder_id == holder_id
            if row.happened_on > on or (row.happened_on == on and not is_in):
                continue
            held_mg += row.mass_mg if is_in else -row.mass_mg
            if held_mg == 0:
                purchases.clear()
            elif is_in and row.stock_movement and row.stock_movement.kind == StockMovementKind.PURCHASE:
                purchases.append(row)
        return purchases


def gas_sources(holder_ids: Collection[int], known_at: datetime) -> GasSources:
    """What filled and emptied cylinders, as known at an instant and without what was reversed by then."""
    known = transfers_known(known_at)
    rows = (
        known.filter(Q(to_holder__in=holder_ids) | Q(from_holder__in=holder_ids), reverses=None)
        .exclude(reversed_by__in=known)
        .select_related("stock_movement", "from_holder")
        .order_by("happened_on", "pk")
    )
    sources = GasSources()
    for row in rows:
        for holder_id in (row.from_holder_id, row.to_holder_id):
            sources.moved[holder_id].append(row)
    return sources


def source_words(purchases: list[Transfer], *, is_recycled: bool) -> str:
    """From whom used gas was bought and where it was reclaimed or recycled; nothing where all of it is new.

    ``is_recycled`` says that the visit's record states it of what it had recovered, of which no facility is on record.

    Source: Regulation (EU) 2024/573, Art. 7(1)(d): name and address of the facility and, where applicable, its
    certificate number.
    """
    bought = [(row, row.stock_movement) for row in purchases if row.stock_movement]
    used = [(row, movement) for row, movement in bought if movement.is_of_used]
    in_part = "in part " if len(used) < len(bought) else ""
    words = [f"{in_part}{_used_words(row, movement)}" for row, movement in used]
    if is_recycled and not any(movement.supply_status == SupplyStatus.RECYCLED for _, movement in used):
        words.insert(0, f"recycled; facility: {FACILITY_UNKNOWN}")
    return "; ".join(dict.fromkeys(words))


def _used_words(row: Transfer, movement: StockMovement) -> str:
    document = f", {movement.document_number}" if movement.document_number else ""
    facility = " ".join(movement.facility.split()) or FACILITY_UNKNOWN
    certificate = (
        f", certificate no. {movement.facility_certificate}" if movement.facility_certificate else ""
    )
    return (
        f"{movement.supply_status}, from {row.from_holder.name}{document}; facility: {facility}{certificate}"
    )
