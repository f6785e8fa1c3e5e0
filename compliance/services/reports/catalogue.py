"""The reports there are: for each its question, its content, and how it is printed. A new report is a row here."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from compliance.models import ReportKind
from compliance.selectors.paper import A4
from compliance.selectors.papers.bundle import bundle_document, bundle_pieces, paper_bundle
from compliance.selectors.papers.kinds import PAPER_KINDS
from compliance.selectors.reports.annual_leak_rate import annual_report, annual_report_pieces
from compliance.selectors.reports.annual_leak_rate_tables import annual_report_document
from compliance.selectors.reports.california import california_report
from compliance.selectors.reports.cylinder_register import cylinder_register
from compliance.selectors.reports.disposal import disposal_report
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.equipment_record import equipment_record
from compliance.selectors.reports.mass_balance import mass_balance_report
from compliance.selectors.reports.parameters import Progress, ReportParameters
from compliance.selectors.reports.technician_roster import technician_roster
from compliance.services.reports.chunks import document_chunks

GENERIC_PRINT = "compliance/print/report.html"
GENERIC_PAGE = "compliance/partials/report_document.html"
PAPER_PRINT = "compliance/print/filing_papers.html"


def _itself(content: Any) -> ReportDocument:
    document: ReportDocument = content
    return document


@dataclass(frozen=True)
class ReportType:
    """One kind of report.

    ``asks`` names the boxes of its form beside year and day: ``customer``, ``site`` or ``appliance``, and options
    of its own. ``content`` calculates it; ``document`` is its content as plain tables. Where screen or paper show
    more than those tables, ``page_template`` and ``print_template`` are its own. ``pieces`` cuts a long content into
    several that are printed one after the other. ``paper`` is its usual paper, where the place doesn't decide.
    """

    kind: ReportKind
    summary: str
    asks: tuple[str, ...]
    content: Callable[[ReportParameters, Progress], Any]
    document: Callable[[Any], ReportDocument] = _itself
    pieces: Callable[[Any], list[Any]] = document_chunks
    page_template: str = GENERIC_PAGE
    print_template: str = GENERIC_PRINT
    paper: str = ""

    @property
    def is_yearly(self) -> bool:
        """Whether it is about one calendar year, and not about all that is on record."""
        return self.kind.is_yearly

    @property
    def is_paper(self) -> bool:
        """Whether it is signed and sent, or kept, rather than read."""
        return self.print_template == PAPER_PRINT

    @property
    def slug(self) -> str:
        """Its name in addresses and on the command line."""
        return self.kind.value.replace("_", "-")


REPORTS: tuple[ReportType, ...] = (
    ReportType(
        kind=ReportKind.ANNUAL_LEAK_RATE,
        summary=(
            "Every addition of a calendar year with its leak rate and arithmetic, the clocks it started and how they "
            "ended, for one customer or the whole firm."
        ),
        asks=("customer",),
        content=annual_report,
        document=annual_report_document,
        pieces=annual_report_pieces,
        page_template="compliance/partials/annual_leak_rate_report.html",
        print_template="compliance/print/annual_leak_rate_report.html",
    ),
    ReportType(
        kind=ReportKind.DISPOSAL,
        summary=(
            "Appliances of more than 5 and less than 50 lb that were disposed of: what was recovered from each, month "
            "by month, and what was sent for reclamation or destruction."
        ),
        asks=("customer",),
        content=disposal_report,
    ),
    ReportType(
        kind=ReportKind.MASS_BALANCE,
        summary=(
            "Refrigerant bought, recovered, charged, sent away and in stock, and by material balance what went to the "
            "air, with its CO2 equivalent on the basis you choose."
        ),
        asks=("customer", "gwp_basis"),
        content=mass_balance_report,
    ),
    ReportType(
        kind=ReportKind.EQUIPMENT_RECORD,
        summary=(
            "The record of each appliance in the European Union and Great Britain in the fields of Article 7: gas in "
            "and out, leak checks, repairs, who did them and under which certificate."
        ),
        asks=("customer", "site"),
        content=equipment_record,
        paper=A4,
    ),
    ReportType(
        kind=ReportKind.CALIFORNIA,
        summary="The figures that California's annual report of refrigeration systems asks for.",
        asks=("customer",),
        content=california_report,
    ),
    ReportType(
        kind=ReportKind.TECHNICIAN_ROSTER,
        summary="Who handles refrigerant, under which certificates, and how many visits of the year each covers.",
        asks=(),
        content=technician_roster,
    ),
    ReportType(
        kind=ReportKind.CYLINDER_REGISTER,
        summary="Every cylinder with its requalification, where it is and what it holds.",
        asks=(),
        content=cylinder_register,
    ),
    *(
        ReportType(
            kind=ReportKind(paper.slug.replace("-", "_")),
            summary=paper.summary,
            asks=("customer", "appliance"),
            content=partial(paper_bundle, paper.kind),
            document=bundle_document,
            pieces=bundle_pieces,
            page_template="compliance/partials/filing_papers.html",
            print_template=PAPER_PRINT,
        )
        for paper in PAPER_KINDS.values()
    ),
)


def report_type(name: str) -> ReportType:
    """The report of a kind or of a slug.

    Raises:
        LookupError: there is none of that name.
    """
    for report in REPORTS:
        if name in {report.kind.value, report.slug}:
            return report
    raise LookupError(name)
