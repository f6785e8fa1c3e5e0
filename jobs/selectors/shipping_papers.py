"""The shipping paper of what goes to a reclaimer or destruction facility (49 CFR 172.200 to 172.205), by the records.

What the records don't say stays blank, to be written by the shipper, who classifies, describes and certifies.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from compliance.rulebook.dates import add_years
from compliance.rulebook.errors import InvalidInput as UnknownRefrigerant
from compliance.rulebook.refrigerants import find
from compliance.rulebook.shipping import RULE_TRANSPORT, ShippingDescription, shipping_description
from compliance.rulebook.tables import Row, load_tables
from jobs.models import SHIPMENTS, Cylinder, Holder, StockMovement, StockMovementKind
from jobs.selectors.contamination import was_marked_mixed


@dataclass(frozen=True)
class ShippingLine:
    """One cylinder of a shipping paper, or what was taken out of it; masses in mg.

    Attributes:
        masses: designation -> net mass, by the books.
        description: None where the shipper describes it; ``why_blank`` says why.
        is_package: whether the cylinder itself goes along; otherwise the receiver's own container does.
        mark: what a record says of the contents being mixed; empty if none does.
    """

    cylinder: Cylinder
    masses: dict[str, int]
    description: ShippingDescription | None
    why_blank: str
    is_package: bool
    mark: str

    @property
    def net_mg(self) -> int:
        """All of it."""
        return sum(self.masses.values())

    @property
    def gross_mg(self) -> int | None:
        """What a scale under the package should show; None where the package isn't ours."""
        return self.cylinder.tare_mg + self.net_mg if self.is_package else None

    @property
    def is_unsure(self) -> bool:
        """Whether its description was recalled from memory."""
        return self.description is not None and not self.description.row.is_confirmed


@dataclass(frozen=True)
class ShippingPaper:
    """What a shipping paper says, and the rows of the law that it cites."""

    number: str
    happened_on: datetime.date
    is_for_destruction: bool
    consignee: str
    consignee_address: str
    emergency_telephone: str
    carrier: str
    lines: tuple[ShippingLine, ...]
    certification: Row
    telephone_rule: Row
    kept_until: datetime.date
    retention: Row
    is_reversed: bool

    @property
    def masses(self) -> dict[str, int]:
        """Designation -> net mass of all lines, in mg."""
        found: dict[str, int] = {}
        for line in self.lines:
            for name, mass_mg in line.masses.items():
                found[name] = found.get(name, 0) + mass_mg
        return dict(sorted(found.items()))

    @property
    def may_burn(self) -> bool:
        """Whether a line is of a flammable gas, or may be since nobody has described it."""
        return any(line.description is None or line.description.is_flammable for line in self.lines)

    @property
    def is_blank_somewhere(self) -> bool:
        """Whether a line is left to the shipper."""
        return any(line.description is None for line in self.lines)

    @property
    def is_unsure(self) -> bool:
        """Whether a description was recalled from memory."""
        return any(line.is_unsure for line in self.lines)


def shipping_paper(movement: StockMovement) -> ShippingPaper:
    """Draw up the paper of a shipment; others of the same number, day and receiver stand on it too.

    Args:
        movement: one that ``is_shipment``.

    Source: 49 CFR 172.200 to 172.205, 172.604, from memory; 40 CFR 82.156(a)(3)(iii).
    """
    tables, on = load_tables(), movement.happened_on
    consignee = _consignee(movement)
    together = [each for each in _same_paper(movement) if _consignee(each) == consignee]
    retention = tables.row(RULE_TRANSPORT, "shipping_paper_retention", on=on)
    moves = [each.cylinder_move for each in together if hasattr(each, "cylinder_move")]
    return ShippingPaper(
        number=movement.document_number or f"SP-{movement.pk:06d}",
        happened_on=on,
        is_for_destruction=movement.kind == StockMovementKind.DESTRUCTION,
        consignee=consignee,
        consignee_address=_first(each.consignee_address for each in together),
        emergency_telephone=_first(each.emergency_telephone for each in together),
        carrier=_first(move.moved_by for move in moves),
        lines=tuple(_line(each) for each in together),
        certification=tables.row(RULE_TRANSPORT, "shipper_certification", on=on),
        telephone_rule=tables.row(RULE_TRANSPORT, "emergency_telephone", on=on),
        kept_until=add_years(on, retention.count),
        retention=retention,
        is_reversed=hasattr(movement, "reversed_by"),
    )


def shipments() -> QuerySet[StockMovement]:
    """Every shipment, with what its paper asks of it."""
    return (
        StockMovement.objects.filter(kind__in=SHIPMENTS, cylinder__isnull=False)
        .select_related("cylinder", "reversed_by", "cylinder_move")
        .prefetch_related("transfers__to_holder")
        .order_by("pk")
    )


def last_consignee_address(consignee: Holder) -> str:
    """The address that the last shipping paper to a firm gave; empty without one."""
    rows = StockMovement.objects.filter(transfers__to_holder=consignee).exclude(consignee_address="")
    return rows.order_by("-filed_at", "-pk").values_list("consignee_address", flat=True).first() or ""


def last_emergency_telephone() -> str:
    """The emergency telephone of the last shipping paper that gave one; empty without one."""
    rows = StockMovement.objects.exclude(emergency_telephone="").order_by("-filed_at", "-pk")
    return rows.values_list("emergency_telephone", flat=True).first() or ""


def _same_paper(movement: StockMovement) -> list[StockMovement]:
    if not movement.document_number:
        return list(shipments().filter(pk=movement.pk))
    return list(
        shipments().filter(
            kind=movement.kind,
            document_number=movement.document_number,
            happened_on=movement.happened_on,
            reversed_by__isnull=not hasattr(movement, "reversed_by"),
        )
    )


def _consignee(movement: StockMovement) -> str:
    return next((row.to_holder.name for row in movement.transfers.all()), "")


def _line(movement: StockMovement) -> ShippingLine:
    if movement.cylinder is None:
        message = f"{movement} is no shipment of a cylinder"
        raise ValueError(message)
    masses: dict[str, int] = {}
    for row in movement.transfers.all():
        masses[row.refrigerant] = masses.get(row.refrigerant, 0) + row.mass_mg
    mark = was_marked_mixed(movement)
    description, why_blank = _described(masses, movement.happened_on, is_mixed=mark is not None)
    return ShippingLine(
        cylinder=movement.cylinder,
        masses=dict(sorted(masses.items())),
        description=description,
        why_blank=why_blank,
        is_package=hasattr(movement, "cylinder_move"),
        mark=mark.finding if mark else "",
    )


def _described(
    masses: dict[str, int], on: datetime.date, *, is_mixed: bool
) -> tuple[ShippingDescription | None, str]:
    if is_mixed or len(masses) > 1:
        return None, "A mixture: its entry follows from what is in it, and it may burn."
    try:
        found = shipping_description(find(next(iter(masses))), on=on)
    except (UnknownRefrigerant, StopIteration):
        found = None
    return found, "" if found else "The portal has no entry for it."


def _first(texts: Iterable[str]) -> str:
    return next((text for text in texts if text), "")
