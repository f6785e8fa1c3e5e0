"""A report's tables as CSV, one by one or all in a ZIP, and as an XLSX workbook."""

import csv
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal

import xlsxwriter

from compliance.selectors.reports.document import Cell, ReportDocument, Row, Table, places
from compliance.services.reports.sheet_names import unique_sheet_names

#: A cell that begins like a formula is data here, never a formula, in whatever program opens it.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")

#: What the name of a file on its way can't hold everywhere.
UNSAFE = re.compile(r"[^a-z0-9]+")
#: The most that a sheet holds, its header included; what is written below it would be lost without a word.
SHEET_ROWS_MAX = 1_048_576
DAY_FORMAT = "yyyy-mm-dd"


def table_csv(table: Table) -> bytes:
    """Write a table as CSV (RFC 4180), UTF-8 with a byte order mark so that spreadsheets read it."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow(table.header)
    for row in _lines(table):
        writer.writerow([_csv_cell(cell) for cell in row])
    return buffer.getvalue().encode("utf-8-sig")


def table_file_name(table: Table) -> str:
    """The name of a table's CSV file, with nothing in it that a folder or a header would take amiss."""
    return f"{UNSAFE.sub('-', table.name.lower()).strip('-') or 'table'}.csv"


def document_zip(document: ReportDocument) -> bytes:
    """Write each table as CSV, and what the report is as the last of them, numbered, into one ZIP."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, table in enumerate(document.tables_and_about, start=1):
            # Without a time of its own, so that the same figures give the same file.
            entry = zipfile.ZipInfo(f"{number:02d}-{table_file_name(table)}")
            entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, 0o644 << 16
            archive.writestr(entry, table_csv(table))
    return buffer.getvalue()


def _lines(table: Table) -> list[Row]:
    return [*table.rows, *([table.totals] if table.totals else [])]


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, date):
        return cell.isoformat()
    text = str(cell)
    return f"'{text}" if isinstance(cell, str) and text.startswith(FORMULA_STARTS) else text


def document_xlsx(document: ReportDocument, *, rows_max: int = SHEET_ROWS_MAX) -> bytes:
    """Write the tables as a workbook, one sheet each, with a first sheet that says what it is and how it was made.

    A table that is longer than a sheet goes on in further ones, each with the header.

    Args:
        document: what to write.
        rows_max: the most rows of a sheet, its header among them; at least 2.
    """
    buffer = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        _write_cover(book, document)
        sheets = [(table, part) for table in document.tables for part in _parts(_lines(table), rows_max - 1)]
        _, *names = unique_sheet_names([document.about.name, *(table.name for table, _ in sheets)])
        for name, (table, part) in zip(names, sheets, strict=True):
            _write_table(book, name, table, part)
    return buffer.getvalue()


def _parts(lines: list[Row], most: int) -> Iterator[Sequence[Row]]:
    """The lines by sheets; one sheet without any where there are none."""
    for first in range(0, max(len(lines), 1), most):
        yield lines[first : first + most]


def _write_cover(book: xlsxwriter.Workbook, document: ReportDocument) -> None:
    about = document.about
    (_, title), *lines = about.rows
    sheet = book.add_worksheet(about.name)
    bold = book.add_format({"bold": True, "font_size": 14})
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    for place, column in enumerate(about.columns):
        sheet.set_column(place, place, column.width)
    sheet.write_string(0, 0, str(title), bold)
    for row, cells in enumerate(lines, start=2):
        for place, cell in enumerate(cells):
            sheet.write_string(row, place, str(cell), wrapped)


def _write_table(book: xlsxwriter.Workbook, name: str, table: Table, lines: Sequence[Row]) -> None:
    sheet = book.add_worksheet(name)
    header = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    text = book.add_format({"text_wrap": True, "valign": "top"})
    day = book.add_format({"num_format": DAY_FORMAT, "valign": "top"})
    figures = {
        count: book.add_format({"num_format": f"0.{'0' * count}", "valign": "top"}) for count in (2, 3, 6)
    }
    sheet.freeze_panes(1, min(3, len(table.columns) - 1))
    sheet.autofilter(0, 0, max(len(lines), 1), len(table.columns) - 1)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    for place, column in enumerate(table.columns):
        sheet.set_column(place, place, column.width)
        sheet.write_string(0, place, column.name, header)
    for line, row in enumerate(lines, start=1):
        for place, cell in enumerate(row):
            if isinstance(cell, date):
                sheet.write_datetime(line, place, cell, day)
            elif isinstance(cell, Decimal | int):
                count = places(table.columns[place].kind, Decimal(cell))
                sheet.write_number(line, place, cell, text if count is None else figures[count])
            elif cell is not None:
                sheet.write_string(line, place, cell, text)
