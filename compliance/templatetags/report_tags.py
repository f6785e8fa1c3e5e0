"""Template filters that lay out a report's tables."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django import template

from compliance.selectors.reports.document import Cell, Column, ColumnKind, ReportDocument, Row, Table, places

register = template.Library()

#: A sheet of paper held upright has room for about so many.
UPRIGHT_COLUMNS = 6
#: How many rows of a table a page on the screen shows.
SCREEN_ROWS = 200
#: Texts of so many characters stand in one line; longer ones than the second number want a column of some width.
SHORT_TEXT, LONG_TEXT = 14, 24
#: A table of more columns than the first is set closer, of more than the second closer still.
ROOMY_COLUMNS, CLOSE_COLUMNS = 7, 12


@register.filter
def cell(value: Cell, column: Column) -> str:
    """A cell as text: dates as 2026-03-02, figures with the places of their column."""
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal) and (count := places(column.kind, value)) is not None:
        return f"{value:,.{count}f}"
    return f"{value:,}" if isinstance(value, int | Decimal) else value


@register.filter
def with_columns(row: Row, table: Table) -> Iterable[tuple[Column, Cell]]:
    """The row's cells, each with its column."""
    return zip(table.columns, row, strict=True)


@dataclass(frozen=True)
class LaidOutColumn:
    """A column of a table on the screen, with the class of its cells."""

    column: Column
    css: str


@register.filter
def laid_out(table: Table) -> list[LaidOutColumn]:
    """The columns with their classes: figures to the right, days and short words in one line, long words with room."""
    rows = [*shown_rows(table), *([table.totals] if table.totals else [])]
    return [
        LaidOutColumn(column, _css(column, [str(row[place] or "") for row in rows]))
        for place, column in enumerate(table.columns)
    ]


def _css(column: Column, texts: list[str]) -> str:
    longest = max(map(len, texts), default=0)
    if column.is_number:
        return "number"
    if column.kind is ColumnKind.DATE or longest <= SHORT_TEXT:
        return "date"
    return "told long-words" if longest > LONG_TEXT else ""


@register.filter
def in_columns(row: Row, columns: list[LaidOutColumn]) -> Iterable[tuple[LaidOutColumn, Cell]]:
    """The row's cells, each with its column as laid out."""
    return zip(columns, row, strict=True)


@register.filter
def named_for(table: Table, owner: object) -> str:
    """What a screen reader calls a table that others of its name stand beside."""
    return f"{table.name}, {owner}"


@register.filter
def is_close(table: Table) -> bool:
    """Whether the table has so many columns that they are set closer on the screen."""
    return len(table.columns) > ROOMY_COLUMNS


@register.filter
def is_closest(table: Table) -> bool:
    """Whether the table has more columns than a desk's screen takes even so."""
    return len(table.columns) > CLOSE_COLUMNS


@register.filter
def shares(table: Table) -> list[str]:
    """How much of the line each column takes, in percent: words don't crowd out each other on paper."""
    total = sum(column.width for column in table.columns)
    return [f"{100 * column.width / total:.2f}" for column in table.columns]


@register.filter
def is_wide(document: ReportDocument) -> bool:
    """Whether a table of the document needs the sheet on its side."""
    return any(len(table.columns) > UPRIGHT_COLUMNS for table in document.tables)


@register.filter
def shown_rows(table: Table) -> tuple[Row, ...]:
    """The rows that the screen shows."""
    return table.rows[:SCREEN_ROWS]


@register.filter
def hidden_rows(table: Table) -> int:
    """How many rows the screen leaves out."""
    return max(0, len(table.rows) - SCREEN_ROWS)
