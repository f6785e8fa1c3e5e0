"""Shorthands of the report tests: a question, its content, its files."""

import io
import re
from datetime import datetime
from typing import Any

from pypdf import PdfReader

from compliance.selectors.reports.annual_leak_rate import AnnualReport
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.parameters import ReportParameters, no_progress
from compliance.services.assessments import appliances_reassess
from compliance.services.reports.catalogue import report_type
from compliance.services.reports.pdf import print_content
from jobs.models import Appliance, Customer
from tests.demo_firm import NOW


def question(
    year: int = 2026, customer: Customer | None = None, known_at: datetime = NOW, **further: Any
) -> ReportParameters:
    """A question as of 25 November 2026."""
    return ReportParameters(
        as_of=further.pop("as_of", NOW.date()),
        known_at=known_at,
        run_by="Rosalind Achterberg",
        run_at=NOW,
        year=year,
        customer=customer,
        **further,
    )


def answer(slug: str, parameters: ReportParameters) -> Any:
    """A report's content."""
    return report_type(slug).content(parameters, no_progress)


def document(slug: str, parameters: ReportParameters) -> ReportDocument:
    """A report's plain tables."""
    return report_type(slug).document(answer(slug, parameters))


def printed(slug: str, parameters: ReportParameters) -> bytes:
    """A report as PDF."""
    return print_content(report_type(slug), answer(slug, parameters), parameters)


def pdf_text(content: bytes) -> str:
    """What a PDF says, in one line."""
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return re.sub(r"\s+", " ", text)


def assess_all(now: datetime) -> None:
    """Store every appliance's answer as of an instant, as the sweep does."""
    appliances_reassess(appliance_ids=Appliance.objects.values_list("pk", flat=True), now=now)


def assert_same_as_calculated(report: AnnualReport) -> None:
    """The figures are those of each appliance's own year, which is always calculated from its records."""
    assert report.figures.appliances == tuple(sorted(row.figures for row in report.appliances))
