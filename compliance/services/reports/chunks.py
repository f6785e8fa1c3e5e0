"""Cuts a long document into pieces that are printed one after the other."""

from collections.abc import Iterator
from dataclasses import replace

from compliance.selectors.reports.document import ReportDocument, Section, Table

#: About fifty pages: layout takes some ten milliseconds and a tenth of a megabyte a row, given back after each piece.
ROWS_IN_A_PIECE = 1250


def document_chunks(document: ReportDocument, rows: int = ROWS_IN_A_PIECE) -> list[ReportDocument]:
    """Cut a document into pieces of at most ``rows`` table rows; a short one is one piece.

    Facts and notes stand in each piece; the printed page shows them in the first and the last alone.
    """
    pieces: list[list[Section]] = [[]]
    room = rows
    for section in _small_sections(document, rows):
        size = sum(len(table.rows) for table in section.tables)
        if size > room and pieces[-1]:
            pieces.append([])
            room = rows
        pieces[-1].append(section)
        room -= size
    return [replace(document, sections=tuple(sections)) for sections in pieces]


def _small_sections(document: ReportDocument, rows: int) -> Iterator[Section]:
    """The sections, those that are too long as several: the first keeps the sentences, the others say they go on."""
    for section in document.sections:
        if sum(len(table.rows) for table in section.tables) <= rows:
            yield section
            continue
        paragraphs, title = section.paragraphs, section.title
        for table in section.tables:
            for part in _small_tables(table, rows):
                yield Section(title, paragraphs, (part,))
                paragraphs, title = (), f"{section.title}, continued"


def _small_tables(table: Table, rows: int) -> Iterator[Table]:
    starts = range(0, len(table.rows), rows) or [0]
    for start in starts:
        is_last = start + rows >= len(table.rows)
        yield replace(table, rows=table.rows[start : start + rows], totals=table.totals if is_last else None)
