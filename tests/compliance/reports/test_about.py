"""Each report says who ran it, when, as of when, known at which instant and by which rules, in whatever form.

With people, days and instants that are all unlike, so that none of them can stand in for another. That a long report
says no less than one that has nothing to list is asked of those with a page and a print of their own.
"""

import csv
import io
import zipfile
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.reports.document import Column, ReportDocument, Section, Table
from compliance.services.reports.catalogue import REPORTS, report_type
from compliance.services.reports.runs import report_claim, report_make, report_request
from compliance.services.reports.spreadsheets import document_xlsx, document_zip
from portal.accounts.models import User
from tests import people
from tests.compliance.reports.asking import document, pdf_text, printed, question
from tests.compliance.reports.read_back import bare, page_blocks
from tests.demo_firm import NOW

SLUGS = [report.slug for report in REPORTS]
OWN = ["annual-leak-rate", "extension-request", "chronic-leak-report"]
AS_OF, KNOWN_AT = date(2026, 11, 24), datetime(2026, 11, 23, 17, 5, tzinfo=UTC)
ASKED = question(as_of=AS_OF, known_at=KNOWN_AT)
LAW = (RULEBOOK_VERSION, load_tables().version)
SAID = (ASKED.run_by, "2026-11-25 12:00 CST", "2026-11-24", "2026-11-23 11:05 CST", *LAW)
ADDRESS = {"year": "2026", "as_of": "2026-11-24", "known_at": "2026-11-23T11:05"}
RUN_AT = datetime(2026, 11, 26, 9, 30, tzinfo=UTC)


def unsaid(text: str, said: tuple[str, ...] = SAID) -> list[str]:
    return [words for words in said if bare(words) not in bare(text)]


def words_of(page: Any) -> str:
    return " ".join(block.text for block in page_blocks(page.text))


def words_in(rows: Iterable[Iterable[object]]) -> str:
    return " ".join(str(cell) for row in rows for cell in row)


def read_csv(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))


def read_zip(content: bytes) -> dict[str, list[list[str]]]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: read_csv(archive.read(name)) for name in archive.namelist()}


@pytest.mark.parametrize("slug", SLUGS)
def test_prints_and_tables_say_it(db: None, slug: str) -> None:
    made = document(slug, ASKED)

    pdf = pdf_text(printed(slug, ASKED))
    cover = openpyxl.load_workbook(io.BytesIO(document_xlsx(made))).worksheets[0]
    *tables, about = read_zip(document_zip(made)).values()

    assert unsaid(pdf) == []
    assert unsaid(words_in(cover.values)) == []
    assert unsaid(words_in(about)) == []
    # The tables keep their places, whatever is said after them.
    assert [rows[0] for rows in tables] == [list(table.header) for table in made.tables]


@pytest.mark.parametrize("slug", OWN)
def test_prints_and_pages_of_their_own_say_it(officer: User, client: Client, slug: str) -> None:
    client.force_login(officer)

    pdf = pdf_text(printed(slug, ASKED))
    page = client.get(reverse("report", args=[slug]), ADDRESS)

    assert unsaid(pdf) == []
    assert unsaid(words_of(page), (str(officer), *SAID[2:])) == []
    assert any(table.rows for table in page.context["document"].tables)


@pytest.mark.parametrize("slug", SLUGS)
def test_page_and_files_from_the_web_say_who_looks(db: None, client: Client, slug: str) -> None:
    officer = people.officer()
    said = (str(officer), "2026-11-26 03:30 CST", *SAID[2:])
    with time_machine.travel(RUN_AT, tick=False):
        client.force_login(officer)
        page = client.get(reverse("report", args=[slug]), ADDRESS)
        book = client.get(reverse("report-file", args=[slug, "xlsx"]), ADDRESS).content
        tables = read_zip(client.get(reverse("report-file", args=[slug, "zip"]), ADDRESS).content)
        last = ADDRESS | {"table": str(len(tables) - 1)}
        single = client.get(reverse("report-file", args=[slug, "csv"]), last)

    cover = openpyxl.load_workbook(io.BytesIO(book)).worksheets[0]
    *_, (name, about) = tables.items()
    assert name.endswith("-about.csv")
    assert single["Content-Disposition"].endswith('-2026-about.csv"')
    assert read_csv(single.content) == about
    for text in (words_of(page), words_in(cover.values), words_in(about)):
        assert unsaid(text, said) == []
    for form in ("zip", "csv"):
        assert f'href="{reverse("report-file", args=[slug, form])}?' in page.text


def test_a_kept_run_says_it_in_every_form(db: None, client: Client, settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path
    officer = people.officer()
    client.force_login(officer)
    run = report_request(by=officer, kind=report_type("mass-balance").kind, parameters=ASKED)
    claimed = report_claim(now=NOW, pk=run.pk)
    assert claimed is not None
    report_make(run=claimed)

    page = client.get(reverse("report-run", args=[run.pk]))
    archive = client.get(reverse("report-run-file", args=[run.pk, "zip"]))
    *tables, about = read_zip(archive.content).values()
    last = client.get(reverse("report-run-file", args=[run.pk, "csv"]), {"table": len(tables)})

    said = (str(officer), *SAID[1:])
    assert read_csv(last.content) == about
    for text in (words_of(page), words_in(about)):
        assert unsaid(text, said) == []
    for form in ("zip", "csv"):
        assert f'href="{reverse("report-run-file", args=[run.pk, form])}' in page.text


def test_names_of_tables_lead_out_of_no_folder() -> None:
    named = [Section("", tables=(Table(name, (Column("A"),), ()),)) for name in ("../Rack / “east”", "///")]
    odd = ReportDocument("Odd", "", (), tuple(named))

    assert list(read_zip(document_zip(odd))) == ["01-rack-east.csv", "02-table.csv", "03-about.csv"]


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", ["Ada", "Maren Fennimore (login night-clerk at the command line)"])
@pytest.mark.parametrize(
    "slug", ["mass-balance", "equipment-record", "california-annual", "cylinder-register"]
)
def test_in_print_each_fact_stands_beside_its_name(db: None, slug: str, name: str, paper: str) -> None:
    """Also where the facts lie in two columns: none is left behind by its name at a column's end."""
    asked = replace(ASKED, run_by=name, options={"paper": paper})
    page = pypdfium2.PdfDocument(printed(slug, asked))[0]
    words = page.get_textpage()

    def place(text: str) -> tuple[float, float]:
        """How far from the left and from above it begins, in points."""
        found = words.search(text).get_next()
        assert found, text
        left, _, _, top = words.get_charbox(found[0], loose=True)
        return left, page.get_height() - top

    facts = {
        "Records known at": "2026-11-23",
        "Run by": name.split(maxsplit=1)[0],
        "Rulebook and tables": RULEBOOK_VERSION,
    }
    for fact, value in facts.items():
        (left_of_name, above_name), (left_of_value, above_value) = place(fact), place(value)
        assert left_of_name < left_of_value < left_of_name + 160
        assert above_value == pytest.approx(above_name, abs=2)
