"""Screen, PDF, CSV and XLSX of every report say the same, read back cell by cell."""

import csv
import io
from collections import Counter
from datetime import date, datetime
from decimal import Decimal
from html.parser import HTMLParser

import openpyxl
import pytest
from django.test import Client

from compliance.selectors.reports.document import Cell, Column, ColumnKind, ReportDocument, Table
from compliance.services.reports.catalogue import GENERIC_PAGE, REPORTS
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from compliance.templatetags.report_tags import cell as in_print
from portal.accounts.models import User
from tests.compliance.reports.asking import document, pdf_text, printed, question
from tests.demo_firm import NOW

SLUGS = [report.slug for report in REPORTS]
PLAIN = [report.slug for report in REPORTS if report.page_template == GENERIC_PAGE]
FIGURES = {ColumnKind.MASS, ColumnKind.PERCENT, ColumnKind.NUMBER, ColumnKind.DATE}


def lines(table: Table) -> list[tuple[Cell, ...]]:
    return [*table.rows, *([table.totals] if table.totals else [])]


def as_written(cell: Cell) -> str:
    """A cell as a plain file has it."""
    return "" if cell is None else str(cell)


@pytest.mark.parametrize("slug", SLUGS)
def test_csv_and_xlsx_hold_every_cell(officer: User, slug: str) -> None:
    made = document(slug, question())
    book = openpyxl.load_workbook(io.BytesIO(document_xlsx(made)))

    assert any(table.rows for table in made.tables)
    for table, sheet in zip(made.tables, book.worksheets[1:], strict=True):
        expected = [[as_written(cell) for cell in row] for row in lines(table)]
        header, *rows = csv.reader(io.StringIO(table_csv(table).decode("utf-8-sig")))
        assert (header, rows) == (list(table.header), expected)
        of_sheet = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)]
        for row, written in zip(lines(table), of_sheet, strict=True):
            assert [plain(value) for value in written] == [plain(cell) for cell in row]


def plain(value: object) -> object:
    """A value of a spreadsheet or of a table, so that the two compare."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, float | int | Decimal):
        return Decimal(str(value)).normalize()
    return value or None


class Tables(HTMLParser):
    """Reads the tables of a page as lists of rows of texts."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self.is_in_cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in {"td", "th"}:
            self.tables[-1][-1].append("")
            self.is_in_cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in {"td", "th"}:
            self.is_in_cell = False

    def handle_data(self, data: str) -> None:
        if self.is_in_cell:
            self.tables[-1][-1][-1] += data


def printed_cells(made: ReportDocument) -> list[list[list[str]]]:
    return [
        [
            [in_print(cell, column) for cell, column in zip(row, table.columns, strict=True)]
            for row in lines(table)
        ]
        for table in made.tables
        if table.rows
    ]


@pytest.mark.parametrize("slug", PLAIN)
def test_the_screen_shows_every_cell(officer: User, client: Client, slug: str) -> None:
    client.force_login(officer)
    asked = {"year": "2026", "as_of": str(NOW.date()), "known_at": f"{NOW:%Y-%m-%dT%H:%M}"}

    reader = Tables()
    reader.feed(client.get(f"/reports/{slug}/", asked).text)

    assert [table[1:] for table in reader.tables] == printed_cells(document(slug, question()))


def figures(table: Table) -> list[str]:
    """The masses, rates, numbers and dates of a table as they are printed."""

    def is_figure(cell: Cell, column: Column) -> bool:
        return column.kind in FIGURES and isinstance(cell, date | Decimal)

    return [
        in_print(cell, column)
        for row in lines(table)
        for cell, column in zip(row, table.columns, strict=True)
        if is_figure(cell, column)
    ]


@pytest.mark.parametrize("slug", PLAIN)
def test_the_pdf_holds_every_figure(officer: User, slug: str) -> None:
    expected = Counter(figure for table in document(slug, question()).tables for figure in figures(table))

    found = Counter(pdf_text(printed(slug, question())).split())

    assert expected
    missing = {figure: count for figure, count in expected.items() if found[figure] < count}
    assert missing == {}
