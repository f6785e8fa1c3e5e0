"""Which papers go with what is owed, and with what was filed."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.models import Obligation
from compliance.rulebook.filings.specs import SECTIONS, FilingKind
from compliance.selectors.board import is_pending
from compliance.selectors.papers.kinds import PAPER_KINDS, PaperKind
from jobs.models import CaseFiling


@dataclass(frozen=True)
class PaperLink:
    """Where a paper is printed: its kind, the calendar year that it is about, and of which day; today without one."""

    paper: PaperKind
    year: int | None = None
    as_of: datetime.date | None = None


def papers_for(obligations: Iterable[Obligation]) -> list[PaperLink]:
    """The papers that are made in the course of federal obligations, each once.

    What was settled needs none any more, but for the report of a year, of which a copy is kept.
    """
    links = [
        PaperLink(paper, row.opened_on.year if paper.is_of_a_year else None)
        for row in obligations
        if row.rule in SECTIONS
        for paper in PAPER_KINDS.values()
        if row.kind in paper.owed_for and (paper.is_of_a_year or is_pending(row))
    ]
    return list(dict.fromkeys(links))


def paper_of(filing: CaseFiling) -> PaperLink | None:
    """The paper that prints a filing as it was filed; ``None`` where there is none, or it counts no more."""
    paper = PAPER_KINDS.get(FilingKind(filing.kind))
    if paper is None or filing.is_void or hasattr(filing, "superseded_by") or not paper.prints(filing):
        return None
    year = filing.details.get("year") if paper.is_of_a_year else None
    return PaperLink(paper, year, filing.happened_on)
