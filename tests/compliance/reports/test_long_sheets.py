"""A table that is longer than a sheet goes on in further sheets.

The most rows of a sheet, 1,048,576, is XlsxWriter's own limit (``Worksheet.xls_rowmax``), past which it writes nothing
and raises nothing.
"""

import io

import openpyxl
import pytest
import xlsxwriter.worksheet

from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Section, Table
from compliance.services.reports.spreadsheets import SHEET_ROWS_MAX, document_xlsx

HEADER = ("What", "How many")


def sheets(count: int, *, totals: bool, rows_max: int) -> dict[str, list[tuple[object, ...]]]:
    """A table of so many rows, written with a shorter sheet and read back."""
    columns = (Column(HEADER[0]), Column(HEADER[1], ColumnKind.COUNT))
    rows = tuple((f"row {number}", number) for number in range(count))
    table = Table("Additions", columns, rows, totals=("all", count) if totals else None)
    other = Table("Additions (2)", columns, (("another table", 0),))
    document = ReportDocument("Long", "", (), (Section("Long", tables=(table, other)),))
    book = openpyxl.load_workbook(io.BytesIO(document_xlsx(document, rows_max=rows_max)))
    return {sheet.title: list(sheet.values) for sheet in book.worksheets[1:]}


def test_the_limit_is_that_of_the_format() -> None:
    assert xlsxwriter.worksheet.Worksheet().xls_rowmax == SHEET_ROWS_MAX


@pytest.mark.parametrize(("count", "of_each"), [(0, [0]), (4, [4]), (5, [4, 1]), (8, [4, 4]), (9, [4, 4, 1])])
def test_every_row_is_in_one_of_the_sheets(count: int, of_each: list[int]) -> None:
    *written, (_, other) = sheets(count, totals=False, rows_max=5).items()

    assert [len(rows) - 1 for _, rows in written] == of_each
    assert all(rows[0] == HEADER for _, rows in written)
    assert [row for _, rows in written for row in rows[1:]] == [
        (f"row {number}", number) for number in range(count)
    ]
    assert other == [HEADER, ("another table", 0)]


def test_the_totals_are_the_last_row_of_the_last_sheet() -> None:
    written = sheets(4, totals=True, rows_max=5)

    assert list(written) == ["Additions", "Additions (2)", "Additions (2) (2)"]
    assert written["Additions (2)"] == [HEADER, ("all", 4)]
