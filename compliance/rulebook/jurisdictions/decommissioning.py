"""Warns of an appliance that was retired with no recovery on record, where the law asks for one."""

from compliance.rulebook.facts import FactKind
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.recovered_refrigerant import UNRECOVERED, decommissioned_unrecovered
from compliance.rulebook.tables import Tables

_MOVES = (FactKind.ADDITION, FactKind.REMOVAL)


def warn_of_unrecovered(docket: Docket, tables: Tables) -> None:
    """Warn if the last thing moved before the retirement, if any, was an addition.

    Source: Regulation (EU) 2024/573 Art. 7(1)(g), 8(1), (2); Regulation (EU) No 517/2014 Art. 6(1)(g), 8(1).
    """
    timeline = docket.timeline
    retired_on = timeline.retired_on
    if retired_on is None:
        return
    moves = [fact for fact in timeline.of_kind(*_MOVES) if fact.on <= retired_on]
    if moves and moves[-1].kind is FactKind.REMOVAL:
        return
    refrigerant = timeline.state_on(retired_on).refrigerant
    rows = decommissioned_unrecovered(docket.rule, refrigerant, on=retired_on, tables=tables)
    if rows:
        asked = " ".join(
            f"{row.value} ({row.citation}{'' if row.is_confirmed else ', from memory'})" for row in rows
        )
        docket.warn(f"Retired on {retired_on}, {UNRECOVERED} {asked}")
