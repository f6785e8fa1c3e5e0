"""A mass that is there reads as nothing in no form of a report, and all of them have the same figure for it."""

import csv
import io
from decimal import Decimal

import openpyxl
import pytest
from django.test import Client

from compliance.selectors.reports.document import ColumnKind, ReportDocument, places
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from portal.accounts.models import User
from tests import people
from tests.compliance.firm import add_appliance, file
from tests.compliance.reports.asking import document, printed, question
from tests.compliance.reports.read_back import bare, page_blocks, pdf_blocks

# 0.0004 lb are 181 mg (1 lb = 453 592.37 mg, NIST Handbook 44, appendix C), which are 0.000399 lb to six places.
LB, KG = "0.000399", "0.000181"
BOTH = f"{LB}lb({KG}kg)"


@pytest.fixture
def little(admin: User, client: Client) -> None:
    """0.0004 lb were added, and nothing else was moved."""
    file(admin, add_appliance(admin), "2026-03-02", added=[("0.0004", None)])
    client.force_login(people.officer())


def read_csv(made: ReportDocument) -> list[dict[str, str]]:
    moved = next(table for table in made.tables if table.name == "Refrigerant moved")
    return list(csv.DictReader(io.StringIO(table_csv(moved).decode("utf-8-sig"))))


def test_every_form_of_the_annual_report_says_the_same(little: None, client: Client) -> None:
    made = document("annual-leak-rate", question())

    page = page_blocks(client.get("/reports/annual-leak-rate/", {"year": "2026"}).text)
    pdf = pdf_blocks(printed("annual-leak-rate", question()))
    (line,) = read_csv(made)
    sheet = openpyxl.load_workbook(io.BytesIO(document_xlsx(made)))["Refrigerant moved"]
    header, cells = sheet.iter_rows()

    for blocks in (page, pdf):
        said = bare(
            " ".join(block.text for block in blocks) + str([block.rows for block in blocks if block.rows])
        )
        assert BOTH in said
        # What was taken out is nothing, and reads so.
        assert "0.000lb(0.000kg)" in said
        assert "under0" not in said
    added_lb, added_kg, removed_lb, _ = list(line.values())[-4:]
    assert (added_lb, added_kg, removed_lb) == (LB, KG, "0.000")
    written = {str(name.value): cell for name, cell in zip(header, cells, strict=True)}
    names = list(line)[-4:]
    assert [Decimal(str(written[name].value)) for name in names[:2]] == [Decimal(LB), Decimal(KG)]
    # As the program shows it, too.
    assert [written[name].number_format for name in names] == ["0.000000", "0.000000", "0.000", "0.000"]


def test_other_pages_and_prints_say_what_the_csv_has(little: None, client: Client) -> None:
    made = document("mass-balance", question())
    page = page_blocks(client.get("/reports/mass-balance/", {"year": "2026"}).text)
    pdf = pdf_blocks(printed("mass-balance", question()))

    cells = [str(cell) for table in made.tables for row in (*table.rows, table.totals or ()) for cell in row]
    of_page, of_print = (
        [bare(cell) for block in blocks for row in block.rows for cell in row] for blocks in (page, pdf)
    )

    assert of_page.count(LB) == of_print.count(LB) == cells.count(LB) > 0


@pytest.mark.parametrize(
    ("value", "count"),
    [("0.000", 3), ("0.000001", 6), ("-0.000499", 6), ("0.000500", 6), ("0.000501", 3), ("7", 3)],
)
def test_places_follow_what_three_of_them_say(value: str, count: int) -> None:
    assert places(ColumnKind.MASS, Decimal(value)) == count
    assert places(ColumnKind.PERCENT, Decimal(value)) == 2
    assert places(ColumnKind.NUMBER, Decimal(value)) is None
