"""The dated tables: complete, without overlaps, and read as printed."""

import csv
import tomllib
from datetime import date
from itertools import pairwise, product

import pytest

from compliance.rulebook.facts import Category
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.tables import RULES_DIRECTORY, TableError, load_tables

TABLES = load_tables()
RAW = [
    pytest.param(row, id=f"{path.stem}-{row.get('key')}-{index}")
    for path in sorted(RULES_DIRECTORY.glob("*.toml"))
    for index, row in enumerate(tomllib.loads(path.read_text(encoding="utf-8"))["row"])
]


@pytest.mark.parametrize("row", RAW)
def test_a_row_has_a_citation_a_first_day_a_status_and_a_printed_value(row):
    assert row["citation"].strip()
    assert isinstance(row["effective_from"], date)
    assert row["status"] in {"C", "2", "M", "I"}
    assert isinstance(row["value"], str)
    assert row["unit"]


FIXTURES = RULES_DIRECTORY.parent
# Every table of the portal: the column that cites, and the one that dates.
CITED = {
    **{
        path.relative_to(FIXTURES).as_posix(): ("citation", "effective_from")
        for path in RULES_DIRECTORY.glob("*.toml")
    },
    "rules/refrigerants.csv": ("citation", "as_of"),
    "physics/filling_densities.csv": ("citation", "as_of"),
    "physics/fill_rules.toml": ("citation", "effective_from"),
}
# Reckoned from equations of state or compared with them: each row names its equation or source, and not a law.
RECKONED = {
    "physics/fluids.csv": ("model", "accuracy"),
    "physics/saturation.csv": ("model", "coolprop_version"),
    "physics/accuracies.toml": ("says", "source"),
}
TABLE_FILES = [
    path.relative_to(FIXTURES).as_posix()
    for folder in ("rules", "physics")
    for path in sorted((FIXTURES / folder).iterdir())
    if path.suffix != ".md"
]


def _table(name):
    path = FIXTURES / name
    if path.suffix == ".csv":
        with path.open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))
    read = tomllib.loads(path.read_text(encoding="utf-8"))
    return read["row"] if "row" in read else list(read.values())


@pytest.mark.parametrize("name", TABLE_FILES)
def test_each_row_of_every_table_has_a_citation_and_an_effective_date(name):
    rows = _table(name)

    assert rows
    if name in RECKONED:
        assert all(row[column].strip() for row in rows for column in RECKONED[name])
        return
    citation, day = CITED[name]
    for row in rows:
        assert row[citation].strip(), row
        assert date(1990, 1, 1) <= date.fromisoformat(str(row[day])) <= date(2100, 1, 1), row


@pytest.mark.parametrize("rule", sorted({row.rule for row in TABLES.rows}))
def test_no_two_rows_claim_the_same_case(rule):
    keys = {row.key for row in TABLES.rows if row.rule == rule}
    categories = {*Category, *(row.category for row in TABLES.rows if row.category)}
    charges = [parse_mass_mg(pounds, "lb") for pounds in (1, 15, 50, 199, 200, 499, 500, 1500, 2000, 9000)]
    for key, category, charge_mg in product(keys, categories, charges):
        TABLES.find(rule, key, on=date(2026, 6, 1), category=category, full_charge_mg=charge_mg)


def test_thresholds_are_those_of_82_157_and_84_106_c_2():
    printed = {
        (rule, category.value): TABLES.row(
            rule, "leak_rate_threshold", on=date(2026, 6, 1), category=category
        ).number
        for rule in ("us-federal-ods", "us-federal-hfc")
        for category in Category
    }

    for rule in ("us-federal-ods", "us-federal-hfc"):
        assert printed[rule, "industrial_process_refrigeration"] == 30
        assert printed[rule, "commercial_refrigeration"] == 20
        assert (
            printed[rule, "comfort_cooling"]
            == printed[rule, "other"]
            == printed[rule, "refrigerated_transport"]
            == 10
        )


def test_a_rule_has_no_rows_before_its_first_day():
    assert TABLES.effective_from("us-federal-hfc") == date(2026, 1, 1)
    assert TABLES.find("us-federal-hfc", "repair", on=date(2025, 12, 31)) is None
    with pytest.raises(TableError):
        TABLES.row("us-federal-hfc", "repair", on=date(2025, 12, 31))


def _load(tmp_path, text):
    (tmp_path / "rows.toml").write_text(text, encoding="utf-8")
    return load_tables(tmp_path)


ROW = '[[row]]\nrule = "r"\nkey = "k"\nvalue = "{value}"\nunit = "days"\ncitation = "c"\nstatus = "C"\n'


def test_a_row_ends_on_its_last_day_and_another_takes_over(tmp_path):
    first = ROW.format(value=30) + "effective_from = 2020-01-01\neffective_to = 2025-12-31\n"
    tables = _load(tmp_path, first + ROW.format(value=20) + "effective_from = 2026-01-01\n")

    assert tables.row("r", "k", on=date(2025, 12, 31)).count == 30
    assert tables.row("r", "k", on=date(2026, 1, 1)).count == 20
    assert tables.row("r", "k", on=date(2026, 1, 1)).in_words == "20 days"


def test_the_edition_of_a_rule_changes_with_its_rows_and_only_then(tmp_path):
    first = ROW.format(value=30) + "effective_from = 2020-01-01\neffective_to = 2025-12-31\n"
    tables = _load(tmp_path, first + ROW.format(value=20) + "effective_from = 2027-01-01\n")
    days = [
        date(2019, 12, 31),
        date(2020, 1, 1),
        date(2025, 12, 31),
        date(2026, 1, 1),
        date(2026, 12, 31),
        date(2027, 1, 1),
    ]

    editions = [tables.edition("r", on) for on in days]

    assert editions == sorted(editions)
    assert [left == right for left, right in pairwise(editions)] == [False, True, False, True, False]


@pytest.mark.parametrize(
    "text",
    [
        ROW.format(value=30),
        ROW.format(value="") + "effective_from = 2020-01-01\n",
        ROW.format(value=30).replace('citation = "c"\n', "") + "effective_from = 2020-01-01\n",
        ROW.format(value=30).replace('citation = "c"', 'citation = ""') + "effective_from = 2020-01-01\n",
        ROW.format(value=30) + "effective_from = 2020-01-01\nsurprise = 1\n",
        ROW.format(value=30).replace('"C"', '"?"') + "effective_from = 2020-01-01\n",
    ],
)
def test_an_incomplete_row_stops_everything(tmp_path, text):
    with pytest.raises(TableError):
        _load(tmp_path, text)


def test_overlapping_rows_stop_the_lookup(tmp_path):
    row = ROW.format(value=30) + "effective_from = 2020-01-01\n"

    with pytest.raises(TableError):
        _load(tmp_path, row + row).row("r", "k", on=date(2021, 1, 1))


def test_the_version_changes_with_any_table(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    row = "effective_from = 2020-01-01\n"

    assert (
        _load(tmp_path / "a", ROW.format(value=1) + row).version
        != _load(tmp_path / "b", ROW.format(value=2) + row).version
    )


def test_a_unit_of_one_is_written_in_the_singular():
    assert TABLES.row("us-federal-hfc", "retrofit_or_retirement", on=date(2026, 6, 1)).in_words == "1 year"
