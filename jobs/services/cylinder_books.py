"""A cylinder's books while it is locked: what it held on which day, and what may still go in or out."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby
from operator import attrgetter

from django.db.models import Q

from jobs.models import (
    Contamination,
    Cylinder,
    CylinderMove,
    MoveReason,
    ServiceEvent,
    StockMovement,
    SupplyStatus,
    Transfer,
)
from jobs.selectors.contamination import Movement, is_emptied_since
from jobs.selectors.requalification import CylinderTests, tests_of


@dataclass(frozen=True)
class BookRow:
    """One movement into (positive) or out of (negative) a cylinder; ``customer_id`` owns the appliance it came from.

    ``filed_at`` is when it was filed; None for one that is about to be. ``is_bought_recycled`` says that it was bought
    as recycled.
    """

    happened_on: datetime.date
    refrigerant: str
    mass_mg: int
    customer_id: int | None = None
    filed_at: datetime.datetime | None = None
    is_bought_recycled: bool = False


@dataclass
class CylinderBook:
    """The movements of one locked cylinder in the order of the days they happened on.

    ``contaminations`` are the records, not withdrawn, that mark it as mixed; ``tests`` those of its requalification;
    ``retired_on`` is the day it was taken out of use.
    """

    cylinder: Cylinder
    rows: list[BookRow] = field(default_factory=list)
    contaminations: list[Contamination] = field(default_factory=list)
    retired_on: datetime.date | None = None

    @cached_property
    def tests(self) -> CylinderTests:
        """Its requalification tests that stand."""
        return tests_of(self.cylinder)

    def contents_on(self, day: datetime.date) -> dict[str, int]:
        """What it held at the end of ``day``: designation -> mg, without what sums to nothing."""
        contents: defaultdict[str, int] = defaultdict(int)
        for row in self.rows:
            if row.happened_on <= day:
                contents[row.refrigerant] += row.mass_mg
        return {refrigerant: mass_mg for refrigerant, mass_mg in contents.items() if mass_mg}

    def contents_after(self, day: datetime.date) -> Iterator[tuple[datetime.date, dict[str, int]]]:
        """What it held at the end of each later day that something moved on."""
        contents = defaultdict(int, self.contents_on(day))
        later = sorted((row for row in self.rows if row.happened_on > day), key=attrgetter("happened_on"))
        for moved_on, rows in groupby(later, key=attrgetter("happened_on")):
            for row in rows:
                contents[row.refrigerant] += row.mass_mg
            yield moved_on, {refrigerant: mass_mg for refrigerant, mass_mg in contents.items() if mass_mg}

    def most_held_mg(self, day: datetime.date) -> int:
        """The most that it held at the end of ``day`` or of any later one, of all refrigerants."""
        later = [sum(contents.values()) for _, contents in self.contents_after(day)]
        return max([sum(self.contents_on(day).values()), *later])

    def owners_on(self, day: datetime.date) -> set[int]:
        """Customers from whose appliances its contents on ``day`` came, since it was last empty."""
        return {row.customer_id for row in self._came_in_by(day) if row.customer_id is not None}

    def holds_bought_recycled_on(self, day: datetime.date) -> bool:
        """Whether any of its contents on ``day`` was bought as recycled, since it was last empty."""
        return any(row.is_bought_recycled for row in self._came_in_by(day))

    def _came_in_by(self, day: datetime.date) -> list[BookRow]:
        """What came in up to ``day``, since it was last empty."""
        came_in: list[BookRow] = []
        held_mg = 0
        for row in sorted(self.rows, key=attrgetter("happened_on")):
            if row.happened_on > day:
                break
            held_mg += row.mass_mg
            if held_mg == 0:
                came_in.clear()
            elif row.mass_mg > 0:
                came_in.append(row)
        return came_in

    def mixed_on(self, day: datetime.date) -> frozenset[str] | None:
        """The refrigerants that are or may be in it if it counts as mixed at the end of ``day``; None if it doesn't.

        A record that marks it as mixed counts until all of its contents have left it after that.
        """
        contents = self.contents_on(day)
        marks = self._marks_on(day)
        if not marks and len(contents) < 2:  # noqa: PLR2004 -- one refrigerant is no mixture
            return None
        return frozenset(contents) | {name for mark in marks for name in mark.refrigerants}

    def is_marked_mixed_on(self, day: datetime.date) -> bool:
        """Whether a record says that it holds a mixture at the end of ``day``."""
        return bool(self._marks_on(day))

    def _marks_on(self, day: datetime.date) -> list[Contamination]:
        moved = [Movement(row.happened_on, row.mass_mg, row.filed_at) for row in self.rows]
        return [
            mark
            for mark in self.contaminations
            if mark.happened_on <= day and not is_emptied_since(mark, moved, on=day)
        ]

    def add(self, row: BookRow) -> None:
        """Enter a movement that is about to be filed."""
        self.rows.append(row)


def lock_cylinder_books(
    cylinders: Iterable[Cylinder], *, without: ServiceEvent | StockMovement | None = None
) -> dict[int, CylinderBook]:
    """Lock the cylinders, lowest id first so that two filings never wait for each other, and read their books.

    Args:
        cylinders: those about to be filled or drawn on.
        without: an event or movement that is being amended or reversed; what it moved counts as given back.

    Returns:
        Cylinder id -> its book.
    """
    ids = {cylinder.pk for cylinder in cylinders}
    if not ids:
        return {}
    locked = Cylinder.objects.select_for_update(no_key=True, of=("self",)).select_related("holder")
    books = {cylinder.pk: CylinderBook(cylinder) for cylinder in locked.filter(pk__in=ids).order_by("pk")}
    # A reversed transfer and its reversal undo each other on the same day, so neither is read.
    moved = Transfer.objects.filter(
        Q(from_holder__cylinder__in=ids) | Q(to_holder__cylinder__in=ids), reverses=None, reversed_by=None
    ).select_related("from_holder__appliance__site", "to_holder", "event", "stock_movement")
    if isinstance(without, ServiceEvent):
        moved = moved.exclude(event=without)
    elif without is not None:
        moved = moved.exclude(stock_movement=without)
    for transfer in moved.order_by("happened_on", "pk"):
        _enter(books, transfer)
    for mark in Contamination.objects.filter(cylinder__in=ids, withdrawal=None):
        books[mark.cylinder_id].contaminations.append(mark)
    for move in CylinderMove.objects.filter(cylinder__in=ids, reason=MoveReason.RETIRED, withdrawal=None):
        books[move.cylinder_id].retired_on = move.happened_on
    return books


def _enter(books: dict[int, CylinderBook], transfer: Transfer) -> None:
    source = transfer.from_holder.appliance
    customer_id = source.site.customer_id if source else None
    record = transfer.event or transfer.stock_movement
    filed_at = record.filed_at if record else None
    movement = transfer.stock_movement
    is_bought_recycled = movement is not None and movement.supply_status == SupplyStatus.RECYCLED
    for holder, signed_mg in (
        (transfer.from_holder, -transfer.mass_mg),
        (transfer.to_holder, transfer.mass_mg),
    ):
        if book := books.get(holder.cylinder_id or 0):
            moved = (transfer.happened_on, transfer.refrigerant, signed_mg)
            book.add(BookRow(*moved, customer_id, filed_at, is_bought_recycled))
