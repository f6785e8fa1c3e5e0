"""The annual leak rate report says the same on screen, in print, as CSV and as XLSX, read back figure by figure."""

import csv
import io
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from django.test import Client
from django.utils import timezone

from compliance.selectors.reports.annual_leak_rate import annual_report_pieces
from compliance.services.reports.catalogue import report_type
from compliance.services.reports.pdf import print_content
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from portal.accounts.models import User
from tests.compliance.reports.asking import answer, document, printed, question
from tests.compliance.reports.read_back import (
    HEADING,
    PARAGRAPH,
    TABLE,
    Block,
    bare,
    page_blocks,
    pdf_blocks,
    spaced,
)
from tests.demo_firm import NOW

SLUG = "annual-leak-rate"
YEAR = 2026
BOTH = r"([\d.]+) lb \(([\d.]+) kg\)"
RATE = re.compile(rf"(\d{{4}}-\d\d-\d\d) ([\d.]+) % of ([\d.]+) %, {BOTH} counted ?(SE-\d+)?")
STEP = re.compile(
    r"([\d.]+) % (?:on|from) (\d{4}-\d\d-\d\d)(?:, ([\d.]+) lb added)? \(([\d.]+) of ([\d.]+) lb\)"
)
HIGHEST = re.compile(r"Highest rate of \d{4}: ([\d.]+) % against a threshold of ([\d.]+) %")
OBLIGATION, MOVED = (
    ["Obligation", "Opened", "Due", "How it stands", "Paragraph"],
    ["Refrigerant", "Added", "Removed"],
)

#: Customer and site, appliance.
Key = tuple[str, str]
Sheets = dict[str, list[dict[str, Any]]]


@dataclass
class Told:
    """What is told of one appliance: its figures as text, in the order of the files' columns."""

    figures: tuple[str, ...] = ()
    is_over: bool = False
    is_chronic: bool = False
    rates: list[tuple[str, ...]] = field(default_factory=list)
    clocks: list[tuple[str, ...]] = field(default_factory=list)
    steps: list[tuple[str, ...]] = field(default_factory=list)


@dataclass
class Report:
    """A whole report: counts, (refrigerant, lb and kg added, lb and kg removed), appliances, (highest, threshold)."""

    counts: list[str] = field(default_factory=list)
    moved: list[tuple[str, ...]] = field(default_factory=list)
    appliances: defaultdict[Key, Told] = field(default_factory=lambda: defaultdict(Told))
    highest: dict[Key, tuple[str, str]] = field(default_factory=dict)


def percent(value: Any) -> str:
    return f"{Decimal(str(value)):.2f}"


def mass(value: Any) -> str:
    return "" if value in ("", None) else f"{Decimal(str(value)):.3f}"


def of_files(sheets: Sheets) -> Report:
    """The report as its tables tell it."""
    told = Report(counts=[str(int(line["Number"])) for line in sheets["In short"]])
    gross = [f"{what} in year, gross ({unit})" for what in ("Added", "Removed") for unit in ("lb", "kg")]
    told.moved = [
        (line["Refrigerant"], *(mass(line[name]) for name in gross)) for line in sheets["Refrigerant moved"]
    ]
    for line in sheets["Appliances"]:
        one = told.appliances[key_of(line)]
        charge = (mass(line["Full charge (lb)"]), mass(line["Full charge (kg)"]))
        one.figures = (*charge, line["Installed on"], *(mass(line[name]) for name in gross))
        one.is_over = line["Over threshold"] == "yes"
        one.is_chronic = line["125 % of full charge reached"] == "yes"
        if line["Highest leak rate (%)"] not in ("", None):
            told.highest[key_of(line)] = (
                percent(line["Highest leak rate (%)"]),
                percent(line["Threshold (%)"]),
            )
    for line in sheets["Additions"]:
        counted = (mass(line["Counted as added (lb)"]), mass(line["Counted as added (kg)"]))
        rate = (percent(line["Leak rate (%)"]), percent(line["Threshold (%)"]))
        told.appliances[key_of(line)].rates.append(
            (line["Date"], line["Service event"], *counted, *rate, bare(line["Arithmetic"]))
        )
    for line in sheets["Obligations"]:
        days = (line["Opened on"], line["Due on"] or bare("no date yet"))
        stands = bare(f"{line['Status']} {line['Met on'] or ''}")
        told.appliances[key_of(line)].clocks.append(
            (bare(line["Obligation"]), *days, stands, bare(line["Paragraph"]))
        )
    for line in sheets["Rolling rates"]:
        masses = (line["Added that day, net (lb)"], line["Added in 365 days (lb)"], line["Full charge (lb)"])
        told.appliances[key_of(line)].steps.append(
            (
                line["From"],
                *map(mass, masses),
                percent(line["Rolling rate (%)"]),
                percent(line["Threshold (%)"]),
            )
        )
    return told


def key_of(line: dict[str, Any]) -> Key:
    return bare(f"{line['Customer']}: {line['Site']}"), bare(line["Appliance"])


class Reader:
    """Reads the blocks of a page or a print; ``keys`` are the appliances that the files name."""

    def __init__(self, blocks: Iterable[Block], keys: Iterable[Key]) -> None:
        self.told = Report()
        self.keys = set(keys)
        self.sites = {site for site, _ in self.keys}
        self.site = ""
        self.one: Told | None = None
        self.key: Key = ("", "")
        self.rate: tuple[str, ...] | None = None
        for block in blocks:
            if block.kind == HEADING:
                self.heading(bare(block.text))
            elif block.kind == PARAGRAPH:
                self.paragraph(spaced(block.text))
            elif block.kind == TABLE:
                self.table([spaced(cell) for cell in block.rows[0]], block.rows[1:])

    def heading(self, text: str) -> None:
        if text in self.sites:
            self.site, self.one = text, None
            return
        name = re.sub("(?i)overthreshold$", "", text)
        if (self.site, name) in self.keys:
            self.key = (self.site, name)
            self.one = self.told.appliances[self.key]
            self.one.is_over = name != text
        else:
            self.one = None

    def paragraph(self, text: str) -> None:
        for pattern in (
            r"Appliances (\d+) (\d+) under",
            r"(?:Leak rates|Over threshold|Chronic leaks) (\d+) ",
        ):
            if found := re.match(pattern, text):
                self.told.counts += found.groups()
        if self.one is None:
            return
        if charge := re.search(f"[Ff]ull charge {BOTH}", text):
            installed = re.search(r"[Ii]nstalled (\d{4}-\d\d-\d\d)", text)
            gross = re.search(f"Added in {YEAR}, gross: {BOTH}; removed: {BOTH}", text)
            assert installed
            assert gross
            self.one.figures = (*charge.groups(), *installed.groups(), *gross.groups())
            self.one.is_chronic = "dditions reached 125 % of the full charge" in text
            if highest := HIGHEST.search(text):
                self.told.highest[self.key] = (percent(highest[1]), percent(highest[2]))
        elif self.rate is not None:
            self.one.rates.append((*self.rate, bare(text)))
            self.rate = None
        elif rate := RATE.fullmatch(text):
            on, rate_pct, threshold, lb, kg, event = rate.groups(default="")
            self.rate = (on, event, lb, kg, percent(rate_pct), percent(threshold))
        elif "Rolling rate:" in text:
            self.one.steps += self.steps(text)

    def steps(self, text: str) -> Iterator[tuple[str, ...]]:
        threshold = re.search(r"threshold ([\d.]+) %", text)
        assert threshold
        for step in STEP.finditer(text):
            rate, on, added, counted, charge = step.groups(default="")
            yield on, added, counted, charge, percent(rate), percent(threshold[1])

    def table(self, header: list[str], rows: list[list[str]]) -> None:
        if header == ["What", "Number"]:
            self.told.counts = [bare(row[1]) for row in rows]
        elif header == MOVED:
            self.told.moved = [(bare(row[0]), *numbers(row[1]), *numbers(row[2])) for row in rows]
        elif header[:2] == ["Appliance", "Customer and site"]:
            for row in rows:
                key = self.place(row)
                self.told.highest[key] = (
                    percent(numbers(row[2])[0]),
                    percent(re.findall(r"[\d.]+", row[3])[0]),
                )
        elif header[:3] == ["Appliance", "Site", "Refrigerant, installed"]:
            for row in rows:
                installed = re.findall(r"\d{4}-\d\d-\d\d", row[2])
                figures = (*numbers(row[3]), *installed, *numbers(row[4]), *numbers(row[5]))
                self.told.appliances[self.place(row)].figures = figures
        elif self.one is not None and header == OBLIGATION:
            self.one.clocks += [tuple(map(bare, row)) for row in rows]
        elif self.one is not None and header[:3] == ["Date", "Record", "Counted"]:
            for on, event, counted, rate, because in rows:
                rate_pct, threshold = re.findall(r"[\d.]+", rate)
                figures = (*numbers(counted), percent(rate_pct), percent(threshold))
                self.one.rates.append((bare(on), bare(event), *figures, bare(because)))

    def place(self, row: list[str]) -> Key:
        """Which appliance a row is about that names it and, with a comma between them, customer and site."""
        return next(
            key for key in self.keys if key[1] == bare(row[0]) and key[0].replace(":", ",") == bare(row[1])
        )


def numbers(cell: str) -> list[str]:
    """The decimals in a cell, such as pounds and kilograms."""
    return re.findall(r"\d+\.\d+", cell)


@pytest.fixture
def of_csv(officer: User) -> Report:
    """The whole firm's report as its CSV files tell it."""
    made = document(SLUG, question(YEAR))
    return of_files(
        {
            table.name: list(csv.DictReader(io.StringIO(table_csv(table).decode("utf-8-sig"))))
            for table in made.tables
        }
    )


def test_there_is_something_of_everything(of_csv: Report) -> None:
    appliances = of_csv.appliances.values()

    assert all(int(count) > 0 for count in of_csv.counts)
    assert len(of_csv.moved) > 2
    assert sum(len(one.rates) for one in appliances) == int(of_csv.counts[2]) > 30
    assert sum(len(one.clocks) for one in appliances) > 30
    assert sum(len(one.steps) for one in appliances) > 30
    assert any(one.is_over for one in appliances)
    assert any(one.is_chronic for one in appliances)


def test_xlsx_and_csv_tell_the_same(of_csv: Report) -> None:
    book = openpyxl.load_workbook(io.BytesIO(document_xlsx(document(SLUG, question(YEAR)))))
    sheets: Sheets = {}
    for sheet in book.worksheets[1:]:
        header, *rows = sheet.iter_rows(values_only=True)
        sheets[sheet.title] = [dict(zip(header, map(in_words, row), strict=True)) for row in rows]

    assert of_files(sheets) == of_csv


def in_words(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.date().isoformat()
    return "" if value is None else value


def test_print_and_csv_tell_the_same(of_csv: Report) -> None:
    told = Reader(pdf_blocks(printed(SLUG, question(YEAR))), of_csv.appliances).told

    assert told == of_csv


def test_a_print_in_pieces_tells_the_same(of_csv: Report) -> None:
    in_pieces = replace(report_type(SLUG), pieces=lambda report: annual_report_pieces(report, 9))
    asked = question(YEAR)
    content = answer(SLUG, asked)
    assert len(in_pieces.pieces(content)) > 5

    told = Reader(pdf_blocks(print_content(in_pieces, content, asked)), of_csv.appliances).told

    assert told == of_csv


def test_screen_and_csv_tell_the_same(of_csv: Report, officer: User, client: Client) -> None:
    client.force_login(officer)
    asked = {
        "year": str(YEAR),
        "as_of": str(NOW.date()),
        "known_at": f"{timezone.localtime(NOW):%Y-%m-%dT%H:%M}",
    }

    told = Reader(page_blocks(client.get(f"/reports/{SLUG}/", asked).text), of_csv.appliances).told

    # The page lists the highest rates of those that are over; each rate stands under its appliance.
    assert told.highest == {key: of_csv.highest[key] for key, one in of_csv.appliances.items() if one.is_over}
    told.highest = of_csv.highest
    assert told == of_csv
