"""Every report in every format where there is little to say: a firm of one day, an appliance without an event, a
year without data.
"""

import io
import re

import openpyxl
import pytest
from django.test import Client

from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.parameters import ReportParameters
from compliance.services.reports.catalogue import REPORTS
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from jobs.models import Appliance
from portal.accounts.models import User
from tests.compliance.firm import REGISTERED_AT, add_appliance, add_technician, day, file, noon
from tests.compliance.reports.asking import document, pdf_text, printed, question

SLUGS = [report.slug for report in REPORTS]
YEARLY = [report.slug for report in REPORTS if report.is_yearly]
DAY_ONE = REGISTERED_AT.date()


def asked(**further: object) -> ReportParameters:
    return question(DAY_ONE.year, as_of=DAY_ONE, known_at=noon(DAY_ONE), **further)


def in_every_file(slug: str, parameters: ReportParameters) -> ReportDocument:
    """The report, once PDF, CSV and XLSX are made of it and have been read back."""
    made = document(slug, parameters)
    text = pdf_text(printed(slug, parameters))
    assert made.title in text
    assert "Page 1 of" in text
    book = openpyxl.load_workbook(io.BytesIO(document_xlsx(made)))
    assert len(book.sheetnames) == 1 + len(made.tables)
    for table, name in zip(made.tables, book.sheetnames[1:], strict=True):
        lines = table_csv(table).decode("utf-8-sig").splitlines()
        assert lines[0].startswith(table.columns[0].name)
        assert [cell.value for cell in book[name][1]] == list(table.header)
        assert table.rows or table.empty in text or slug == "annual-leak-rate"
    return made


@pytest.fixture
def registered(admin: User) -> Appliance:
    """An appliance and a technician, put into the registers today."""
    add_technician(admin)
    return add_appliance(admin)


@pytest.mark.parametrize("slug", SLUGS)
def test_an_appliance_without_an_event_is_reported(registered: Appliance, slug: str) -> None:
    in_every_file(slug, asked())


@pytest.mark.parametrize("slug", SLUGS)
def test_a_firm_with_a_single_visit_is_reported(admin: User, registered: Appliance, slug: str) -> None:
    file(admin, registered, str(DAY_ONE), added=[("2", None)])

    in_every_file(slug, asked())


@pytest.mark.parametrize("slug", SLUGS)
def test_an_appliance_without_an_event_has_a_page(
    registered: Appliance, officer: User, client: Client, slug: str
) -> None:
    client.force_login(officer)

    page = client.get(f"/reports/{slug}/", {"year": str(DAY_ONE.year)})

    assert page.status_code == 200
    assert "Rulebook and tables" in page.text


@pytest.mark.parametrize("slug", YEARLY)
@pytest.mark.parametrize("year", [2015, 2024, 2026])
def test_a_year_without_data_is_reported(admin: User, registered: Appliance, slug: str, year: int) -> None:
    file(admin, registered, str(DAY_ONE), added=[("2", None)])
    parameters = question(year, as_of=day("2026-06-30"), known_at=noon(day("2026-06-30")))

    made = in_every_file(slug, parameters)

    assert str(year) in made.title


@pytest.mark.parametrize("slug", YEARLY)
def test_a_year_without_data_has_a_page(
    registered: Appliance, officer: User, client: Client, slug: str
) -> None:
    client.force_login(officer)

    page = client.get(f"/reports/{slug}/", {"year": "2015"})

    assert page.status_code == 200
    assert re.search(r"<h1[^>]*>[^<]*2015", page.text)
