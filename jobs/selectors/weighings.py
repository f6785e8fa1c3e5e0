"""What a weighing says of a cylinder's books: the net mass on the scale against the mass that was written down."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import DateTimeField, F, Q, QuerySet
from django.db.models.functions import Coalesce

from jobs.models import CylinderWeighing, Instrument, StockMovement, Transfer
from portal.accounts.models import User


@dataclass(frozen=True)
class WeighedStock:
    """One weighing beside the books; masses in mg.

    Attributes:
        book: designation -> mass that the books gave when it stood on the scale.
        adjustment: the movement that brought the books to it, if one was filed and stands.
    """

    weighing: CylinderWeighing
    book: dict[str, int]
    adjustment: StockMovement | None

    @property
    def book_mg(self) -> int:
        """All that the books gave."""
        return sum(self.book.values())

    @property
    def difference_mg(self) -> int:
        """What the scale showed beyond the books: above zero, the cylinder holds more than was written down."""
        return self.weighing.net_mg - self.book_mg

    @property
    def is_within_uncertainty(self) -> bool:
        """Whether the scale may be off by as much as the difference."""
        return abs(self.difference_mg) <= self.weighing.uncertainty_mg


def standing_weighings() -> QuerySet[CylinderWeighing]:
    """Weighings that were not withdrawn, with what their comparison reads."""
    return CylinderWeighing.objects.filter(withdrawal=None).select_related(
        "cylinder__holder", "filed_by", "adjustment__reversed_by"
    )


def usual_scale(user: User) -> Instrument | None:
    """The scale in use that somebody named on the last weighing that they filed; None if there was none."""
    filed = CylinderWeighing.objects.filter(filed_by=user, scale__is_in_use=True).select_related("scale")
    newest = filed.order_by("-filed_at", "-pk").first()
    return newest.scale if newest else None


def weighed_stock(weighings: Iterable[CylinderWeighing]) -> list[WeighedStock]:
    """Compare weighings with the books, in one query for all of them.

    Of the records of the weighing's own day, those filed before it count as having happened before it; an amended
    visit counts by its first filing. An adjustment of the same day is filed after the weighing, so it doesn't hide the
    difference that it closed.
    """
    rows = list(weighings)
    cylinder_ids = {weighing.cylinder_id for weighing in rows}
    moved = (
        Transfer.objects.filter(
            Q(from_holder__cylinder__in=cylinder_ids) | Q(to_holder__cylinder__in=cylinder_ids),
            reverses=None,
            reversed_by=None,
        )
        .annotate(
            first_filed_at=Coalesce(
                "event__original__filed_at",
                "event__filed_at",
                "stock_movement__filed_at",
                output_field=DateTimeField(),
            ),
            out_of=F("from_holder__cylinder"),
            into=F("to_holder__cylinder"),
        )
        .values_list("happened_on", "first_filed_at", "refrigerant", "mass_mg", "out_of", "into")
    )
    by_cylinder = defaultdict(list)
    for happened_on, filed_at, refrigerant, mass_mg, out_of, into in moved:
        for cylinder_id, signed_mg in ((out_of, -mass_mg), (into, mass_mg)):
            by_cylinder[cylinder_id].append((happened_on, filed_at, refrigerant, signed_mg))
    return [_compare(weighing, by_cylinder[weighing.cylinder_id]) for weighing in rows]


def _compare(weighing: CylinderWeighing, moved: list[tuple]) -> WeighedStock:
    book: defaultdict[str, int] = defaultdict(int)
    for happened_on, filed_at, refrigerant, signed_mg in moved:
        is_before = happened_on < weighing.happened_on or (
            happened_on == weighing.happened_on and filed_at <= weighing.filed_at
        )
        if is_before:
            book[refrigerant] += signed_mg
    adjustment = getattr(weighing, "adjustment", None)
    stands = adjustment is not None and not hasattr(adjustment, "reversed_by")
    held = {refrigerant: mass_mg for refrigerant, mass_mg in sorted(book.items()) if mass_mg}
    return WeighedStock(weighing, held, adjustment if stands else None)
