"""A paper to sign says the same on screen, in print, as CSV and as XLSX, read back line by line."""

import csv
import io
import re
from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

import openpyxl
import pytest
from django.test import Client
from django.utils import timezone

from compliance.selectors.papers.kinds import PAPER_KINDS
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.parameters import ReportParameters
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from jobs.models import Appliance, Transfer
from portal.accounts.models import User
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import add_appliance, day, file, leak, noon, over_the_threshold
from tests.compliance.reports.asking import document, printed, question
from tests.compliance.reports.read_back import HEADING, ITEM, TABLE, Block, bare, page_blocks, pdf_blocks

SLUGS = [paper.slug for paper in PAPER_KINDS.values()]
ON = day("2026-06-10")
#: A mark before the answer that was chosen.
TICK = re.compile(r"(?:^|(?<=[a-z.)]))x(?=[A-Z])")
#: Customer, site and appliance stand before what the paper itself says.
PLACE = 3
BLANK = "tobefilledinbyhand"


@dataclass
class Told:
    """What the papers say: (label, answer) of each line, the rows of each table by its name, the dates they are due."""

    lines: list[tuple[str, str]] = field(default_factory=list)
    tables: defaultdict[str, list[list[str]]] = field(default_factory=lambda: defaultdict(list))
    due: list[str] = field(default_factory=list)


@pytest.fixture
def case(admin: User) -> Appliance:
    """A rack that leaked more than its charge, that was repaired, and whose plan is to be carried out."""
    rack = add_appliance(admin, "Rack", refrigerant="R-22", charge_lb="1250.5")
    file(admin, rack, "2026-02-02", added=[("1100.25", None), ("480.5", "A")], found=["A"])
    file(admin, rack, "2026-02-10", repaired=[leak(rack)])
    file_case(admin, rack, "retrofit_or_retirement_elected", "2026-02-20")
    file_case(admin, rack, "retrofit_or_retirement_plan", "2026-03-01")
    over_the_threshold(admin, add_appliance(admin, "Chiller"), "2026-06-02")
    return rack


def plain(cell: str) -> str:
    """A cell without white space, a figure without what its form adds."""
    text = bare(cell)
    try:
        return f"{Decimal(text.replace(',', '')).normalize():f}"
    except InvalidOperation:
        return text


def of_csv(made: ReportDocument) -> Told:
    told = Told()
    for table in made.tables:
        header, *rows = csv.reader(io.StringIO(table_csv(table).decode("utf-8-sig")))
        add(told, table.name, header, rows)
    return told


def of_xlsx(made: ReportDocument) -> Told:
    told = Told()
    book = openpyxl.load_workbook(io.BytesIO(document_xlsx(made)))
    for sheet in book.worksheets[1:]:
        header, *rows = sheet.iter_rows(values_only=True)
        texts = [
            ["" if cell is None else str(cell).removesuffix(" 00:00:00") for cell in row] for row in rows
        ]
        add(told, sheet.title, list(map(str, header)), texts)
    return told


def add(told: Told, name: str, header: list[str], rows: list[list[str]]) -> None:
    if name == "Papers":
        told.due += [row[header.index("Due on")] for row in rows if row[header.index("Due on")]]
    elif name == "Fields":
        told.lines += [(bare(row[PLACE]), bare(row[PLACE + 1])) for row in rows]
    elif rows:
        told.tables[bare(name)] += [[plain(cell) for cell in row[PLACE:]] for row in rows]


def of_blocks(blocks: list[Block]) -> Told:
    """What a page or a print says; of a line to be filled in by hand the label goes on with what is said of it."""
    told, heading, items = Told(), "", []
    for block in blocks:
        text = bare(block.text)
        if block.kind == HEADING:
            heading = text
        elif block.kind == TABLE:
            told.tables[heading] += [[plain(cell) for cell in row] for row in block.rows[1:]]
        elif block.kind == ITEM and heading != "Signature":
            items.append(text)
        elif found := re.search(r"[Dd]ue(?:on)?(\d{4}-\d\d-\d\d)", text):
            told.due += found.groups()
    told.lines = list(zip(items[::2], items[1::2], strict=True))
    return told


@pytest.fixture(params=["one", "all"])
def asked(request: pytest.FixtureRequest, case: Appliance) -> ReportParameters:
    """The rack's paper, whether it is owed or not; or those that the whole firm owes."""
    return question(as_of=ON, known_at=noon(ON), appliance=case if request.param == "one" else None)


@pytest.mark.parametrize("slug", SLUGS)
def test_xlsx_and_csv_say_the_same(asked: ReportParameters, slug: str) -> None:
    made = document(slug, asked)

    told = of_csv(made)

    assert of_xlsx(made) == told
    assert asked.appliance is None or len(told.lines) > 10


@pytest.mark.parametrize("slug", SLUGS)
def test_print_and_csv_say_the_same(asked: ReportParameters, slug: str) -> None:
    told = of_csv(document(slug, asked))

    of_print = of_blocks(pdf_blocks(printed(slug, asked)))

    assert (of_print.tables, of_print.due) == (told.tables, told.due)
    assert len(of_print.lines) == len(told.lines)
    for (label, answer), (expected_label, expected) in zip(of_print.lines, told.lines, strict=True):
        assert label.startswith(expected_label)
        if expected == BLANK:
            assert not TICK.search(answer)
        else:
            assert answer == expected or f"x{expected}" in answer


@pytest.mark.parametrize("slug", SLUGS)
def test_screen_and_csv_say_the_same(
    asked: ReportParameters, slug: str, officer: User, client: Client
) -> None:
    client.force_login(officer)
    told = of_csv(document(slug, asked))
    data = {"year": "2026", "as_of": str(ON), "known_at": f"{timezone.localtime(noon(ON)):%Y-%m-%dT%H:%M}"}
    if asked.appliance:
        data["appliance"] = str(asked.appliance.pk)

    page = of_blocks(page_blocks(client.get(f"/reports/{slug}/", data).text))

    assert (page.tables, page.due) == (told.tables, told.due)
    lines = [
        (label, BLANK if answer.startswith("Tobefilledinbyhand.") else answer) for label, answer in page.lines
    ]
    # Below the papers the page says what the report is made from.
    assert [label for label, _ in lines[len(told.lines) :]] == [bare(name) for name, _ in asked.facts]
    assert lines[: len(told.lines)] == told.lines


# Source: 40 CFR 82.157(j): 125 % of the full charge in a calendar year. The total is what was put in, by the ledger.
def test_the_years_loss_is_the_ledgers(case: Appliance) -> None:
    made = document("chronic-leak-report", question(as_of=ON, known_at=noon(ON), appliance=case))
    added_mg = sum(
        Transfer.objects.filter(to_holder__appliance=case, event__isnull=False).values_list(
            "mass_mg", flat=True
        )
    )

    told = of_csv(made)

    *rows, total = told.tables["Additions"]
    assert added_mg > case.full_charge_mg
    assert total[0] == "Total"
    assert Decimal(total[2]) == sum(Decimal(row[2]) for row in rows)
    assert abs(Decimal(total[2]) - Decimal(added_mg) / Decimal("453592.37")) <= Decimal("0.0005")
