"""A report as plain values: facts, sections, tables. Screen, PDF, CSV and XLSX all print this one document."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Self

NOTE = "Information from the records; not legal advice."

Cell = str | int | Decimal | date | None
Row = tuple[Cell, ...]


class ColumnKind(StrEnum):
    """What the cells of a column are, which says how each format writes them."""

    TEXT = "text"
    DATE = "date"
    COUNT = "count"
    #: Decimals with three places, or six of what would read as nothing; the unit stands in the column's name.
    MASS = "mass"
    #: Decimals with two places.
    PERCENT = "percent"
    #: Decimals as they are.
    NUMBER = "number"


PLACES = {ColumnKind.MASS: 3, ColumnKind.PERCENT: 2}


@dataclass(frozen=True)
class Column:
    """A column's heading; ``width`` is its share of the line, in characters of a spreadsheet."""

    name: str
    kind: ColumnKind = ColumnKind.TEXT
    width: int = 16

    @property
    def is_number(self) -> bool:
        """Whether its cells are figures, which stand to the right."""
        return self.kind not in {ColumnKind.TEXT, ColumnKind.DATE}


def places(kind: ColumnKind, value: Decimal) -> int | None:
    """How many decimals a figure of a column is read with; None where it is read as it is.

    Page, print and workbook ask here, and a CSV has the decimals that were put in, so that all of them say the same.
    """
    if kind is ColumnKind.MASS and value and not round(value, PLACES[kind]):
        return 6
    return PLACES.get(kind)


@dataclass(frozen=True)
class Table:
    """A named table; ``totals``, where given, is its last line, with a cell for each column."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    totals: Row | None = None
    empty: str = "Nothing to list."

    @property
    def header(self) -> tuple[str, ...]:
        """The columns' names."""
        return tuple(column.name for column in self.columns)


ABOUT_COLUMNS = (Column("About this report", width=26), Column("What it says", width=80))


@dataclass(frozen=True)
class Section:
    """A heading with sentences and tables under it."""

    title: str
    paragraphs: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True)
class ReportDocument:
    """A whole report. ``facts`` are its first lines: whose, when, made from what."""

    title: str
    whose: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    notes: tuple[str, ...] = field(default=())

    @property
    def tables(self) -> tuple[Table, ...]:
        """All tables in order."""
        return tuple(table for section in self.sections for table in section.tables)

    @property
    def about(self) -> Table:
        """What stands outside the tables, above all who ran it, when and by which rules: what a file of them lacks."""
        said = ((section.title, text) for section in self.sections for text in section.paragraphs)
        notes = (("Note", note) for note in (*self.notes, NOTE))
        return Table("About", ABOUT_COLUMNS, (("Report", self.title), *self.facts, *said, *notes))

    @property
    def tables_and_about(self) -> tuple[Table, ...]:
        """All tables in order, and after them what the report is: each is a file of its own as CSV."""
        return (*self.tables, self.about)

    def as_json(self) -> dict[str, Any]:
        """The document as JSON values, from which :meth:`from_json` makes the same document."""
        return {
            "title": self.title,
            "whose": self.whose,
            "facts": [list(fact) for fact in self.facts],
            "sections": [
                {
                    "title": section.title,
                    "paragraphs": list(section.paragraphs),
                    "tables": [_table_as_json(table) for table in section.tables],
                }
                for section in self.sections
            ],
            "notes": list(self.notes),
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        """Read what :meth:`as_json` wrote."""
        return cls(
            title=kept["title"],
            whose=kept["whose"],
            facts=tuple((name, value) for name, value in kept["facts"]),
            sections=tuple(
                Section(
                    section["title"],
                    tuple(section["paragraphs"]),
                    tuple(_table_from_json(table) for table in section["tables"]),
                )
                for section in kept["sections"]
            ),
            notes=tuple(kept["notes"]),
        )


def _table_as_json(table: Table) -> dict[str, Any]:
    return {
        "name": table.name,
        "columns": [[column.name, column.kind.value, column.width] for column in table.columns],
        "rows": [_row_as_json(row) for row in table.rows],
        "totals": None if table.totals is None else _row_as_json(table.totals),
        "empty": table.empty,
    }


def _row_as_json(row: Row) -> list[str | int | None]:
    return [str(cell) if isinstance(cell, date | Decimal) else cell for cell in row]


def _table_from_json(kept: dict[str, Any]) -> Table:
    columns = tuple(Column(name, ColumnKind(kind), width) for name, kind, width in kept["columns"])
    return Table(
        name=kept["name"],
        columns=columns,
        rows=tuple(_row_from_json(columns, row) for row in kept["rows"]),
        totals=None if kept["totals"] is None else _row_from_json(columns, kept["totals"]),
        empty=kept["empty"],
    )


def _row_from_json(columns: Iterable[Column], row: list[Any]) -> Row:
    return tuple(_cell(column.kind, cell) for column, cell in zip(columns, row, strict=True))


def _cell(kind: ColumnKind, cell: Any) -> Cell:
    """A kept cell as it was; a word in a column of figures, such as “none”, stays a word."""
    if not isinstance(cell, str) or kind in {ColumnKind.TEXT, ColumnKind.COUNT}:
        return cell
    try:
        return date.fromisoformat(cell) if kind == ColumnKind.DATE else Decimal(cell)
    except (ValueError, ArithmeticError):
        return cell
