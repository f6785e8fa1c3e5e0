"""The papers of one kind for many appliances, as a report: those that are owed, or the one that is asked for."""

from dataclasses import dataclass, replace

from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.specs import SECTIONS, FilingKind
from compliance.selectors.facts_in_bulk import facts_in_bulk
from compliance.selectors.papers.filing_paper import asked_for, filing_paper, situation_of
from compliance.selectors.papers.kinds import PAPER_KINDS
from compliance.selectors.papers.parts import FilingPaper
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.parameters import Progress, ReportParameters

PLACE = (Column("Customer", width=24), Column("Site", width=24), Column("Appliance", width=24))
PAPER_COLUMNS = (
    *PLACE,
    Column("Paragraph", width=24),
    Column("Due on", ColumnKind.DATE),
    Column("To be known", width=50),
    Column("Still to be filled in by hand", width=50),
    Column("Where it goes", width=50),
)
LINE_COLUMNS = (
    *PLACE,
    Column("Field", width=36),
    Column("Answer", width=50),
    Column("Paragraph", width=24),
)
NONE_OWED = "None is owed on {on} by the appliances asked about."
NO_RULE = "No federal leak repair rule (40 CFR 82.157, 84.106) applies to {appliance} on {on}."
BLANK = "to be filled in by hand"
#: About fifty pages: layout takes memory by the page, given back after each piece.
PAPERS_IN_A_PIECE = 16


@dataclass(frozen=True)
class PaperBundle:
    """The papers, in the order of the appliances; ``empty`` says why there is none."""

    kind: FilingKind
    parameters: ReportParameters
    papers: tuple[FilingPaper, ...]
    empty: str = ""

    @property
    def title(self) -> str:
        """The heading of all of them."""
        paper = PAPER_KINDS[self.kind]
        return f"{paper.title} {self.parameters.year}" if paper.is_of_a_year else paper.title


def paper_bundle(kind: FilingKind, parameters: ReportParameters, progress: Progress) -> PaperBundle:
    """Fill the paper of the appliance that is asked about, or of each by which one is owed.

    Args:
        kind: one of ``PAPER_KINDS``.
        parameters: whose, as of which day, as known at which instant; the year of a report of a year.
        progress: told how many appliances have been looked at.
    """
    as_of, known_at, year = parameters.as_of, parameters.known_at, parameters.year
    chosen = parameters.appliance
    appliances = [chosen] if chosen is not None else []
    if chosen is None:
        rows = parameters.appliances()
        total = rows.count()
        for done, one in enumerate(facts_in_bulk(rows, known_at)):
            progress(done, total)
            situation = situation_of(one.registered, one.described, one.facts, as_of)
            is_federal = any(rule in SECTIONS for rule in situation.applying)
            if is_federal and asked_for(PAPER_KINDS[kind], situation, year):
                appliances.append(one.appliance)
    papers = [
        paper
        for appliance in appliances
        if (paper := filing_paper(appliance, kind, as_of=as_of, known_at=known_at, year=year)) is not None
    ]
    empty = "" if papers else NONE_OWED.format(on=as_of)
    if chosen is not None and not papers:
        empty = NO_RULE.format(appliance=chosen, on=as_of)
    return PaperBundle(kind, parameters, tuple(papers), empty)


def bundle_pieces(bundle: PaperBundle, papers: int = PAPERS_IN_A_PIECE) -> list[PaperBundle]:
    """Cut a thick bundle into pieces that are printed one after the other."""
    starts = range(0, len(bundle.papers), papers) or [0]
    return [replace(bundle, papers=bundle.papers[start : start + papers]) for start in starts]


def bundle_document(bundle: PaperBundle) -> ReportDocument:
    """The papers as tables: each with its date, their lines, and the tables of all of them together."""
    sections = [
        Section("Papers", tables=(_papers(bundle),)),
        Section("Fields", paragraphs=(SPECS[bundle.kind].why,), tables=(_lines(bundle),)),
    ]
    names = dict.fromkeys(
        table.name for paper in bundle.papers for section in paper.sections for table in section.tables
    )
    sections += [Section(name, tables=(_together(bundle, name),)) for name in names]
    return ReportDocument(
        title=bundle.title,
        whose=bundle.parameters.whose,
        facts=bundle.parameters.facts,
        sections=tuple(sections),
    )


def _place(paper: FilingPaper) -> Row:
    site = paper.appliance.site
    return (site.customer.name, site.name, paper.appliance.name)


def _papers(bundle: PaperBundle) -> Table:
    rows = tuple(
        (
            *_place(paper),
            paper.citation,
            None if paper.filed else paper.due_on,
            " ".join(paper.notes),
            "" if paper.filed else "; ".join(paper.missing),
            " ".join(paper.send_to),
        )
        for paper in bundle.papers
    )
    return Table("Papers", PAPER_COLUMNS, rows, empty=bundle.empty)


def _lines(bundle: PaperBundle) -> Table:
    rows = tuple(
        (*_place(paper), line.label, line.in_words or BLANK, line.citation)
        for paper in bundle.papers
        for line in paper.lines
    )
    return Table("Fields", LINE_COLUMNS, rows, empty=bundle.empty)


def _together(bundle: PaperBundle, name: str) -> Table:
    """The tables of one name of all papers, each row with its appliance, the last of each its total if it has one."""
    tables = [
        (paper, table)
        for paper in bundle.papers
        for section in paper.sections
        for table in section.tables
        if table.name == name
    ]
    columns = tables[0][1].columns
    rows = tuple(
        (*_place(paper), *row)
        for paper, table in tables
        for row in (*table.rows, *([table.totals] if table.totals else []))
    )
    return Table(name, (*PLACE, *columns), rows, empty=tables[0][1].empty)
