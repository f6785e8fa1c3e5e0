"""Every report of a firm that has nothing on record yet, and of one that is a day old."""

import pytest
from django.test import Client

from compliance.services.reports.catalogue import REPORTS
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from tests.compliance.reports.asking import document, pdf_text, printed, question
from tests.people import officer

SLUGS = [report.slug for report in REPORTS]


@pytest.mark.parametrize("slug", SLUGS)
def test_an_empty_firm_has_a_proper_report(db: None, slug: str) -> None:
    tables = document(slug, question())

    text = pdf_text(printed(slug, question()))

    assert tables.title in text
    assert document_xlsx(tables)
    assert all(table_csv(table) for table in tables.tables)


@pytest.mark.parametrize("slug", SLUGS)
def test_an_empty_firm_has_a_proper_page(client: Client, db: None, slug: str) -> None:
    client.force_login(officer())

    page = client.get(f"/reports/{slug}/")

    assert page.status_code == 200
    assert "Rulebook and tables" in page.text
