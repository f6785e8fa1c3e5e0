"""What visits did, as plain rows that facts are made of; read for many appliances at once, without model objects."""

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from django.db.models import QuerySet

from jobs.models import (
    LeakFinding,
    Repair,
    ServiceEvent,
    Statement,
    Transfer,
    VerificationTest,
)
from jobs.models.events import event_reference
from jobs.selectors.among import AmongIds
from jobs.selectors.events import LEGAL_ORDER


class TransferRow(NamedTuple):
    """A mass into or out of the appliance. Leaks are named by their number at the appliance."""

    is_addition: bool
    mass_mg: int
    reason: str
    leak: int | None


class RepairRow(NamedTuple):
    leak: int
    is_evacuated: bool


class TestRow(NamedTuple):
    leak: int
    kind: str
    is_passed: bool


class StatementRow(NamedTuple):
    kind: str
    details: dict[str, Any]


@dataclass(slots=True)
class Visit:
    """One service event and what was filed with it, each in the order in which it counts.

    ``line_id`` is the first record of its line of amendments; ``is_inspected`` says that there was a leak inspection of
    all visible and accessible parts.
    """

    event_id: int
    line_id: int
    on: datetime.date
    is_inspected: bool = False
    transfers: list[TransferRow] = field(default_factory=list)
    found: list[int] = field(default_factory=list)
    repairs: list[RepairRow] = field(default_factory=list)
    tests: list[TestRow] = field(default_factory=list)
    statements: list[StatementRow] = field(default_factory=list)

    @property
    def reference(self) -> str:
        """The number that people quote."""
        return event_reference(self.event_id)


def visits_by_appliance(
    events: QuerySet[ServiceEvent], appliance_ids: Collection[int]
) -> dict[int, list[Visit]]:
    """The visits to appliances, each list in legal order, in a fixed number of queries.

    Args:
        events: those that count, such as ``events_standing()``.
        appliance_ids: of these appliances.
    """
    visits: defaultdict[int, list[Visit]] = defaultdict(list)
    by_event: dict[int, tuple[int, Visit]] = {}
    rows = events.filter(AmongIds("appliance", appliance_ids)).order_by(*LEGAL_ORDER)
    for event_id, original_id, appliance_id, on, is_complete in rows.values_list(
        "pk", "original_id", "appliance_id", "happened_on", "leak_inspection__is_complete"
    ):
        visit = Visit(event_id, original_id or event_id, on, bool(is_complete))
        visits[appliance_id].append(visit)
        by_event[event_id] = (appliance_id, visit)
    if by_event:
        _read_rows(by_event, appliance_ids)
    return visits


def _read_rows(by_event: dict[int, tuple[int, Visit]], appliance_ids: Collection[int]) -> None:
    """Hang the rows of the appliances' events on those that count; an amended event's rows count no more."""

    def rows(
        model: type[Any], *columns: str, **conditions: Any
    ) -> Iterator[tuple[tuple[int, Visit], list[Any]]]:
        filed = model.objects.filter(AmongIds("event__appliance", appliance_ids), **conditions)
        order = ("position", "pk") if model is Transfer else ("pk",)
        for event_id, *row in filed.order_by(*order).values_list("event_id", *columns):
            if event_id in by_event:
                yield by_event[event_id], row

    columns = ("to_holder__appliance_id", "mass_mg", "reason", "leak__number")
    # What an amendment reverses is bookkeeping.
    for (appliance_id, visit), (to_appliance_id, *row) in rows(Transfer, *columns, reverses=None):
        visit.transfers.append(TransferRow(to_appliance_id == appliance_id, *row))
    for (_, visit), (leak,) in rows(LeakFinding, "leak__number"):
        visit.found.append(leak)
    for (_, visit), row in rows(Repair, "leak__number", "is_evacuated"):
        visit.repairs.append(RepairRow(*row))
    for (_, visit), row in rows(VerificationTest, "leak__number", "kind", "is_passed"):
        visit.tests.append(TestRow(*row))
    for (_, visit), row in rows(Statement, "kind", "details"):
        visit.statements.append(StatementRow(*row))
