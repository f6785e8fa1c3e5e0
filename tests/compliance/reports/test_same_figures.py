"""Screen, PDF, CSV and XLSX of every report say the same, read back cell by cell."""

import csv
import io
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.models import WorkState
from compliance.selectors.reports.document import Cell, ReportDocument, Table
from compliance.services.reports.catalogue import GENERIC_PAGE, REPORTS, report_type
from compliance.services.reports.chunks import document_chunks
from compliance.services.reports.pdf import print_content
from compliance.services.reports.runs import report_claim, report_make, report_request
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from compliance.templatetags.report_tags import SCREEN_ROWS
from compliance.templatetags.report_tags import cell as in_print
from portal.accounts.models import User
from tests.compliance.reports.asking import document, printed, question
from tests.compliance.reports.read_back import TABLE, Block, bare, page_blocks, pdf_blocks
from tests.demo_firm import NOW

SLUGS = [report.slug for report in REPORTS]
PLAIN = [report.slug for report in REPORTS if report.page_template == GENERIC_PAGE]


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


def printed_tables(made: ReportDocument, most: int | None = None) -> list[list[list[str]]]:
    """The tables with rows as they are printed, without white space; those of one head after the other are one."""
    tables: list[list[list[str]]] = []
    for table in made.tables:
        if not table.rows:
            continue
        header = [bare(name) for name in table.header]
        if not tables or tables[-1][0] != header:
            tables.append([header])
        tables[-1] += [
            [bare(in_print(cell, column)) for cell, column in zip(row, table.columns, strict=True)]
            for row in (*table.rows[:most], *lines(table)[len(table.rows) :])
        ]
    return tables


def read_tables(blocks: list[Block]) -> list[list[list[str]]]:
    tables: list[list[list[str]]] = []
    for block in blocks:
        if block.kind == TABLE:
            rows = [[bare(cell) for cell in row] for row in block.rows]
            if tables and tables[-1][0] == rows[0]:
                tables[-1] += rows[1:]
            else:
                tables.append(rows)
    return tables


@pytest.mark.parametrize("slug", SLUGS)
def test_the_page_of_a_kept_print_shows_every_cell(
    officer: User, client: Client, slug: str, settings: Any, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    client.force_login(officer)
    asked = question()
    run = report_request(by=officer, kind=report_type(slug).kind, parameters=asked)
    claimed = report_claim(now=NOW, pk=run.pk)
    assert claimed
    assert report_make(run=claimed).state == WorkState.DONE

    blocks = page_blocks(client.get(reverse("report-run", args=[run.pk])).text)

    # Of a long table the first rows, as the page says.
    assert read_tables(blocks) == printed_tables(document(slug, asked), most=SCREEN_ROWS)


def said(blocks: list[Block]) -> str:
    return "".join(bare(block.text) for block in blocks)


def sentences(made: ReportDocument) -> list[str]:
    """What is said outside the tables: the facts, the paragraphs and the notes."""
    told = [*(value for _, value in made.facts), *made.notes]
    return [
        bare(text) for text in (*told, *(text for section in made.sections for text in section.paragraphs))
    ]


@pytest.mark.parametrize("slug", PLAIN)
def test_the_screen_shows_every_cell_and_sentence(officer: User, client: Client, slug: str) -> None:
    client.force_login(officer)
    known_at = timezone.localtime(NOW)
    asked = {"year": "2026", "as_of": str(NOW.date()), "known_at": f"{known_at:%Y-%m-%dT%H:%M}"}
    made = document(slug, question(known_at=known_at))

    blocks = page_blocks(client.get(f"/reports/{slug}/", asked).text)

    assert read_tables(blocks) == printed_tables(made)
    # The page is run by whoever looks, now.
    run_by = bare(dict(made.facts)["Run by"])
    assert [text for text in sentences(made) if text not in said(blocks)] == [run_by]


@pytest.mark.parametrize("slug", PLAIN)
def test_the_pdf_holds_every_cell_and_sentence(officer: User, slug: str) -> None:
    made = document(slug, question())

    blocks = pdf_blocks(printed(slug, question()))

    assert read_tables(blocks) == printed_tables(made)
    assert [text for text in sentences(made) if text not in said(blocks)] == []


@pytest.mark.parametrize("slug", ["mass-balance", "cylinder-register", "technician-roster"])
def test_a_print_in_pieces_holds_every_cell(officer: User, slug: str) -> None:
    asked = question()
    made = document(slug, asked)
    in_pieces = replace(report_type(slug), pieces=lambda whole: document_chunks(whole, 5))
    assert len(in_pieces.pieces(made)) > 2

    blocks = pdf_blocks(print_content(in_pieces, made, asked))

    assert read_tables(blocks) == printed_tables(made)
