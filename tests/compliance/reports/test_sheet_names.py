"""Sheets of a workbook are called what the tables are called, as far as the format allows.

The limits (31 characters, none of ``[]:*?/\\``, no apostrophe at either end, no two alike with case ignored) are those
that XlsxWriter documents and refuses (https://xlsxwriter.readthedocs.io/workbook.html, ``add_worksheet``); the
workbooks here are written by it. That “History” is kept by spreadsheet programs for themselves is from memory.
"""

import io
import unicodedata

import openpyxl
import pytest
import xlsxwriter
from django.utils import timezone

from compliance.services.reports.sheet_names import NAME_MAX, unique_sheet_names
from compliance.services.reports.spreadsheets import document_xlsx
from jobs.models import Jurisdiction
from tests.compliance.reports.asking import document, question
from tests.factories import ApplianceFactory, SiteFactory

LONG = "Refrigerated display cabinets of the north wing, ground floor"
ODD = [
    "Board",
    "board",
    "'Old' chiller 7",
    "'Old' chiller 7",
    "Rack A/B: [upper] *new*? \\ 12",
    "History",
    "''",
    "",
    "   ",
    "\x00\x1f\ud800",
    f"{LONG} 41",
    f"{LONG} 42",
    f"{LONG} 41",
    LONG,
    LONG.upper(),
    "❄" * 40 + " 5",
    "🧊" * 40 + " 6",
    "🧊" * 40 + " 6",
    "9" * 60,
    "Straße 1",
    "STRASSE 1",
]


def written(names: list[str]) -> list[str]:
    """The names of a workbook's sheets, written and read back."""
    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer, {"in_memory": True}) as book:
        for name in names:
            book.add_worksheet(name)
    return openpyxl.load_workbook(buffer).sheetnames


def test_a_workbook_takes_every_name() -> None:
    names = unique_sheet_names(ODD)

    assert written(names) == names
    assert len({name.casefold() for name in names}) == len(ODD)
    assert not any(unicodedata.category(sign) in {"Cc", "Cs"} for name in names for sign in name)


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        (["Technicians"], ["Technicians"]),
        (["Rack A/B 12"], ["Rack A B 12"]),
        (["'Old' chiller 7"], ["Old' chiller 7"]),
        (["Rack 1", "RACK 1", "rack 1"], ["Rack 1", "RACK 1 (2)", "rack 1 (3)"]),
        (
            [f"{LONG} 41", f"{LONG} 42"],
            ["Refrigerated display cabine… 41", "Refrigerated display cabine… 42"],
        ),
        ([LONG, LONG], ["Refrigerated display cabinets…", "Refrigerated display cabin… (2)"]),
        (["History"], ["History (2)"]),
        (["?", "*"], ["Sheet", "Sheet (2)"]),
    ],
)
def test_a_name_keeps_what_can_be_kept(wanted: list[str], expected: list[str]) -> None:
    assert unique_sheet_names(wanted) == expected


def test_the_longest_number_of_a_register_is_kept() -> None:
    number = str(2**63 - 1)

    (name,) = unique_sheet_names([f"{LONG} {number}"])

    assert name.endswith(f" {number}")
    assert len(name) == NAME_MAX


def test_the_equipment_record_of_long_and_odd_names_is_written(db: None) -> None:
    site = SiteFactory(jurisdiction=Jurisdiction.EU)
    names = (f"{LONG}, left", f"{LONG}, right", "'Old' chiller", "[new]: chiller?")
    there = [ApplianceFactory(site=site, name=name) for name in names]

    made = document("equipment-record", question(known_at=timezone.now()))
    _, _, *sheets = openpyxl.load_workbook(io.BytesIO(document_xlsx(made))).sheetnames

    assert {int(name.rpartition(" ")[2]) for name in sheets} == {appliance.pk for appliance in there}
