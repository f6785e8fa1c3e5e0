"""Case filings to the rulebook's facts."""

from collections.abc import Iterable

from compliance.rulebook.facts import Fact
from compliance.rulebook.filings.details import Details
from compliance.rulebook.filings.facts import filing_fact
from compliance.rulebook.filings.specs import FilingKind
from jobs.models import CaseFiling


def filed_facts(filings: Iterable[CaseFiling]) -> list[Fact]:
    """The facts of filings that stand, in their order; those that are evidence alone give none."""
    facts = (
        filing_fact(FilingKind(row.kind), row.happened_on, Details(row.details), row.reference)
        for row in filings
    )
    return [fact for fact in facts if fact is not None]
