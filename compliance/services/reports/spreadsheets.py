"""The annual leak rate report as CSV and as an XLSX workbook."""

import csv
import io
from datetime import date
from decimal import Decimal

import xlsxwriter

from compliance.selectors.annual_report import AnnualReport
from compliance.services.reports.rows import Cell, Table, report_tables

#: A cell that begins like a formula is data here, never a formula, in whatever program opens it.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")

COLUMN_WIDTH_CHARACTERS = {"Arithmetic": 80, "Why": 80, "Appliance": 28, "Site": 24, "Customer": 28}
DEFAULT_WIDTH_CHARACTERS = 16


def annual_report_csv(report: AnnualReport) -> bytes:
    """Write the additions as CSV (RFC 4180), UTF-8 with a byte order mark so that spreadsheets read it.

    Appliances without an addition in the year are rows with empty figures, so the file lists all.
    """
    appliances, additions, _obligations = report_tables(report)
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow(additions.header)
    written = {row[:3] for row in additions.rows}
    for row in additions.rows:
        writer.writerow([_csv_cell(cell) for cell in row])
    for row in appliances.rows:
        if row[:3] not in written:
            refrigerant = row[4]
            empty = [""] * (len(additions.header) - 4)
            writer.writerow([*(_csv_cell(cell) for cell in row[:3]), _csv_cell(refrigerant), *empty])
    return buffer.getvalue().encode("utf-8-sig")


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, date):
        return cell.isoformat()
    text = str(cell)
    return f"'{text}" if isinstance(cell, str) and text.startswith(FORMULA_STARTS) else text


def annual_report_xlsx(report: AnnualReport) -> bytes:
    """Write the three tables as a workbook, with a first sheet that says what it is and how it was made."""
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True, "strings_to_formulas": False}) as book:
        _write_cover(book, report)
        for table in report_tables(report):
            _write_table(book, table)
    return buffer.getvalue()


def _write_cover(book: xlsxwriter.Workbook, report: AnnualReport) -> None:
    sheet = book.add_worksheet("About")
    bold = book.add_format({"bold": True, "font_size": 14})
    sheet.set_column(0, 0, 26)
    sheet.set_column(1, 1, 80)
    sheet.write_string(0, 0, report.title, bold)
    lines = (
        ("Customer", report.customer.name if report.customer else "All customers"),
        ("Clocks read as of", report.as_of.isoformat()),
        ("Records known at", report.known_at.isoformat(timespec="seconds")),
        ("Rulebook version", report.rulebook_version),
        ("Threshold tables", report.tables_version),
        ("Note", "Information from the records; not legal advice."),
    )
    for row, (name, value) in enumerate(lines, start=2):
        sheet.write_string(row, 0, name)
        sheet.write_string(row, 1, value)


def _write_table(book: xlsxwriter.Workbook, table: Table) -> None:
    sheet = book.add_worksheet(table.name)
    header = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    day = book.add_format({"num_format": "yyyy-mm-dd", "valign": "top"})
    three_places = book.add_format({"num_format": "0.000", "valign": "top"})
    two_places = book.add_format({"num_format": "0.00", "valign": "top"})
    text = book.add_format({"text_wrap": True, "valign": "top"})
    sheet.freeze_panes(1, 3)
    sheet.autofilter(0, 0, max(len(table.rows), 1), len(table.header) - 1)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    for column, name in enumerate(table.header):
        sheet.set_column(column, column, COLUMN_WIDTH_CHARACTERS.get(name, DEFAULT_WIDTH_CHARACTERS))
        sheet.write_string(0, column, name, header)
    for line, row in enumerate(table.rows, start=1):
        for column, cell in enumerate(row):
            if cell is None:
                continue
            if isinstance(cell, date):
                sheet.write_datetime(line, column, cell, day)
            elif isinstance(cell, Decimal | int):
                is_mass = table.header[column].endswith(("(lb)", "(kg)"))
                is_count = isinstance(cell, int)
                style = three_places if is_mass else None if is_count else two_places
                sheet.write_number(line, column, cell, style)
            else:
                sheet.write_string(line, column, cell, text)
