"""Template filters that lay out a report's tables."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django import template

from compliance.selectors.reports.document import Cell, Column, ColumnKind, ReportDocument, Row, Table

register = template.Library()

#: A sheet of paper held upright has room for about so many.
UPRIGHT_COLUMNS = 6
#: How many rows of a table a page on the screen shows.
SCREEN_ROWS = 200
PLACES = {ColumnKind.MASS: 3, ColumnKind.PERCENT: 2}


@register.filter
def cell(value: Cell, column: Column) -> str:
    """A cell as text: dates as 2026-03-02, masses with three places, percentages with two."""
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal) and column.kind in PLACES:
        return f"{value:,.{PLACES[column.kind]}f}"
    return f"{value:,}" if isinstance(value, int | Decimal) else value


@register.filter
def with_columns(row: Row, table: Table) -> Iterable[tuple[Column, Cell]]:
    """The row's cells, each with its column."""
    return zip(table.columns, row, strict=True)


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
