"""How long the records of an appliance are to be kept, under any rule."""

from collections.abc import Sequence

from compliance.rulebook import policy
from compliance.rulebook.dates import add_years
from compliance.rulebook.grounds import Ground, doubts_in_words
from compliance.rulebook.results import Obligation, ObligationKind, Status
from compliance.rulebook.tables import Row
from compliance.rulebook.timeline import Timeline


def record_retention(
    rule: str, timeline: Timeline, row: Row, *, scope: Sequence[Ground] = ()
) -> list[Obligation]:
    """One row, due the rule's years after the newest record; it is never overdue. None without a record.

    ``scope`` holds what brought the appliance within the rule.
    """
    if not timeline.moments:
        return []
    newest = timeline.moments[-1].fact
    due_on = add_years(newest.on, row.count)
    because = (
        f"Keep the records until {newest.on} + {row.in_words} = {due_on} ({policy.RETENTION_FROM_NEWEST})."
    )
    in_doubt = doubts_in_words([row, *scope])
    return [
        Obligation(
            rule=rule,
            kind=ObligationKind.RECORD_RETENTION,
            opened_on=newest.on,
            due_on=due_on,
            status=Status.OPEN,
            met_on=None,
            citation=row.citation,
            because=" ".join([because, *in_doubt]),
            is_confirmed=not in_doubt,
            opened_by_event=newest.event,
        )
    ]
