"""The annual leak rate report of a firm that has nothing on record yet."""

import io

from pypdf import PdfReader

from compliance.selectors.annual_report import annual_report
from compliance.services.reports.pdf import annual_report_pdf
from compliance.services.reports.spreadsheets import annual_report_csv, annual_report_xlsx
from tests.demo_firm import NOW
from tests.people import officer


def test_an_empty_firm_is_a_proper_report(db: None) -> None:
    report = annual_report(year=NOW.year, customer=None, as_of=NOW.date(), known_at=NOW)

    pdf = annual_report_pdf(report, by=officer(), run_at=NOW)

    assert report.appliances == ()
    assert "No appliance under a leak repair rule" in PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert annual_report_csv(report)
    assert annual_report_xlsx(report)
