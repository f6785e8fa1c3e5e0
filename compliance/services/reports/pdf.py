"""The annual leak rate report as PDF, and the kept copy of each printing."""

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import transaction

from compliance.models import ReportKind, ReportRun
from compliance.selectors.annual_report import AnnualReport
from portal.accounts.models import User
from portal.web.pdf import render_pdf


def annual_report_pdf(report: AnnualReport, *, by: User, run_at: datetime) -> bytes:
    """Render the report as a tagged PDF."""
    return render_pdf(
        "compliance/print/annual_leak_rate_report.html",
        {"report": report, "run_by": by, "run_at": run_at},
    )


@transaction.atomic
def report_print(*, by: User, report: AnnualReport, run_at: datetime) -> ReportRun:
    """Print the report and keep the PDF with what it was made from; returns the kept run."""
    pdf = annual_report_pdf(report, by=by, run_at=run_at)
    run = ReportRun(
        kind=ReportKind.ANNUAL_LEAK_RATE,
        customer=report.customer,
        year=report.year,
        as_of=report.as_of,
        known_at=report.known_at,
        rulebook_version=f"{report.rulebook_version} / tables {report.tables_version}",
        run_by=by,
        run_at=run_at,
        pdf_sha256=hashlib.sha256(pdf).hexdigest(),
    )
    # Before the file is written: a row that is refused takes no file along when the transaction is rolled back.
    run.full_clean(exclude=["pdf"])
    run.pdf.save(f"annual-leak-rate-{report.year}.pdf", ContentFile(pdf))
    return run
