"""What the law at a site asks of recovered refrigerant, and where a record leaves it open."""

import datetime

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.recovered_refrigerant import UNRECOVERED, decommissioned_unrecovered, recovery_duties
from compliance.rulebook.refrigerants import find
from compliance.rulebook.tables import Row
from compliance.selectors.event_instruments import Caution
from jobs.models import Appliance, ServiceEvent, StatementKind, WorkKind
from jobs.selectors.appliances import Charge
from jobs.selectors.ledger import last_move_on_visits


def duties_at(appliance: Appliance, charge: Charge, *, on: datetime.date) -> tuple[Row, ...]:
    """What the law at an appliance's site asks of refrigerant recovered from it; nothing in the United States.

    Args:
        appliance: with its site.
        charge: in force on the day.
        on: the day.
    """
    try:
        return recovery_duties(appliance.site.jurisdiction, find(charge.refrigerant), on=on)
    except InvalidInput:
        return ()


def recovery_cautions(event: ServiceEvent, charge: Charge) -> list[Caution]:
    """What is to be looked at in a record of an appliance retired or disposed of with no recovery on record.

    Args:
        event: the record, with its statements.
        charge: in force on its day.
    """
    kinds = {row.kind for row in event.statements.all()}
    if StatementKind.RETIRED not in kinds and WorkKind.DISPOSAL not in event.work_kinds:
        return []
    last = last_move_on_visits(event.appliance, until=event.happened_on)
    if last is not None and last.from_holder.appliance_id == event.appliance_id:
        return []
    rows = decommissioned_unrecovered(
        event.appliance.site.jurisdiction, find(charge.refrigerant), on=event.happened_on
    )
    how = f"Retired or disposed of on {event.happened_on}, {UNRECOVERED}"
    return [
        Caution(row.value if place else f"{how} {row.value}", row.citation, row.is_confirmed)
        for place, row in enumerate(rows)
    ]
