"""Keeps what filings state as purged and destroyed within what the visit that replaced it added."""

from typing import Any

from compliance.rulebook import policy
from compliance.rulebook.filings.purge_conditions import counted_additions
from compliance.rulebook.filings.purge_specs import PURGED_AND_DESTROYED
from compliance.rulebook.masses import format_mass
from compliance.selectors.facts import appliance_facts
from compliance.selectors.purges import purges
from jobs.models import ServiceEvent
from jobs.selectors.case_filings import filings_standing
from jobs.services.refusals import Refusals


def filed_event_keep_purges(*, event: ServiceEvent, **_: Any) -> None:
    """Refuse an amendment that leaves less added than filings say was purged and destroyed of it.

    Args:
        event: as it is being filed, inside its transaction.

    Raises:
        SubmissionRefused: the filings have to be amended or withdrawn first.
    """
    if event.original_id is None:
        return
    filings = filings_standing().filter(appliance=event.appliance_id)
    stated = [purge for purge in purges(filings) if purge.line_id == event.original_id]
    if not stated:
        return
    added = counted_additions(appliance_facts(event.appliance)[1], event.reference)
    added_mg = sum(fact.mass_mg or 0 for fact in added)
    destroyed_mg = sum(purge.mass_mg for purge in stated)
    if destroyed_mg > added_mg + policy.RESOLUTION.value * (len(added) + len(stated)):
        by = ", ".join(str(purge.filing) for purge in stated)
        refusals = Refusals()
        refusals.add(
            "transfers",
            format_mass(added_mg),
            f"Expected at least the {format_mass(destroyed_mg)} added for service that {by} states as purged and "
            "destroyed. Amend or withdraw that first.",
            PURGED_AND_DESTROYED.paragraph.cited(),
        )
        refusals.raise_any()
