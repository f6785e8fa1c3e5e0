"""Which cylinders count as mixed or contaminated: marked by a record, and not emptied since."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from jobs.models import Contamination, StockMovement, Transfer


@dataclass(frozen=True)
class Movement:
    """A mass into (positive) or out of (negative) a cylinder; ``filed_at`` is None for one about to be filed."""

    happened_on: datetime.date
    mass_mg: int
    filed_at: datetime.datetime | None


def is_emptied_since(mark: Contamination, movements: Iterable[Movement], *, on: datetime.date) -> bool:
    """Say whether everything left the cylinder after it was marked, up to and including a day.

    On the day of the mark itself, what was filed after the mark counts as having happened after it.
    """
    held_mg = 0
    for movement in sorted(movements, key=lambda each: each.happened_on):
        if movement.happened_on > on:
            break
        held_mg += movement.mass_mg
        is_later = movement.happened_on > mark.happened_on or (
            movement.happened_on == mark.happened_on
            and (movement.filed_at is None or movement.filed_at > mark.filed_at)
        )
        if held_mg == 0 and movement.mass_mg < 0 and is_later:
            return True
    return False


def marked_mixed(cylinder_ids: Iterable[int], *, on: datetime.date) -> dict[int, frozenset[str]]:
    """Tell which of the cylinders are marked as mixed on a day: id -> refrigerants that are or may be in it."""
    marks = list(
        Contamination.objects.filter(cylinder__in=list(cylinder_ids), withdrawal=None, happened_on__lte=on)
    )
    if not marks:
        return {}
    moved = _movements({mark.cylinder_id for mark in marks})
    found: defaultdict[int, set[str]] = defaultdict(set)
    for mark in marks:
        if not is_emptied_since(mark, moved[mark.cylinder_id], on=on):
            found[mark.cylinder_id] |= set(mark.refrigerants)
    return {cylinder_id: frozenset(names) for cylinder_id, names in found.items()}


def was_marked_mixed(movement: StockMovement) -> Contamination | None:
    """The mark under which what a movement took out of its cylinder stood as mixed; None if there was none."""
    marks = Contamination.objects.filter(
        cylinder=movement.cylinder_id, withdrawal=None, happened_on__lte=movement.happened_on
    )
    if movement.cylinder_id is None or not marks:
        return None
    moved = _movements({movement.cylinder_id})[movement.cylinder_id]
    before = [each for each in moved if each.filed_at is None or each.filed_at < movement.filed_at]
    return next((mark for mark in marks if not is_emptied_since(mark, before, on=movement.happened_on)), None)


def _movements(cylinder_ids: set[int]) -> defaultdict[int, list[Movement]]:
    rows = Transfer.objects.filter(
        Q(from_holder__cylinder__in=cylinder_ids) | Q(to_holder__cylinder__in=cylinder_ids),
        reverses=None,
        reversed_by=None,
    ).select_related("from_holder", "to_holder", "event", "stock_movement")
    moved: defaultdict[int, list[Movement]] = defaultdict(list)
    for row in rows.order_by("happened_on", "pk"):
        record = row.event or row.stock_movement
        filed_at = record.filed_at if record else None
        for holder, signed_mg in ((row.from_holder, -row.mass_mg), (row.to_holder, row.mass_mg)):
            if holder.cylinder_id in cylinder_ids:
                moved[holder.cylinder_id].append(Movement(row.happened_on, signed_mg, filed_at))
    return moved
