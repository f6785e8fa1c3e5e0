"""Long reports are printed in pieces and joined: nothing lost, pages numbered through."""

import io

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Section, Table
from compliance.services.reports.chunks import document_chunks
from portal.web.joined_pdf import join_pdf
from portal.web.pdf import render_pdf


def long_document(*sizes: int) -> ReportDocument:
    """A document with one section a size, each with a table of so many rows."""
    columns = (Column("Line"), Column("Number", ColumnKind.COUNT))
    sections = tuple(
        Section(
            f"Part {number}",
            (f"Sentence {number}",),
            (Table(f"Table {number}", columns, tuple((f"{number}-{line}", line) for line in range(size))),),
        )
        for number, size in enumerate(sizes)
    )
    return ReportDocument("Long report", "All customers", (("Run by", "nobody"),), sections)


@given(st.lists(st.integers(0, 25), max_size=6), st.integers(1, 12))
def test_pieces_hold_every_row_once_and_none_is_too_long(sizes: list[int], rows: int) -> None:
    document = long_document(*sizes)

    pieces = document_chunks(document, rows)

    assert [row for piece in pieces for table in piece.tables for row in table.rows] == [
        row for table in document.tables for row in table.rows
    ]
    assert all(sum(len(table.rows) for table in piece.tables) <= rows for piece in pieces)
    said = [text for piece in pieces for section in piece.sections for text in section.paragraphs]
    assert said == [text for section in document.sections for text in section.paragraphs]


# Source: ANSI/ASME Y14.1 (letter, 8.5 in by 11 in) and ISO 216 (A4, 210 mm by 297 mm), in points.
@pytest.mark.parametrize(("paper", "width", "height"), [("letter", 612, 792), ("a4", 595.3, 841.9)])
@pytest.mark.parametrize("is_piece", [False, True])
@pytest.mark.parametrize("columns", [2, 9])
def test_a_report_lies_on_its_paper(
    paper: str, width: float, height: float, is_piece: bool, columns: int
) -> None:
    names = tuple(Column(f"Column {number}") for number in range(columns))
    table = Table("Table", names, (tuple("x" for _ in names),))
    document = ReportDocument("Report", "All customers", (), (Section("Part", (), (table,)),))

    printed = render_pdf(
        "compliance/print/report.html",
        {"report": document, "is_first": True, "is_last": True, "is_piece": is_piece, "paper": paper},
    )

    (page,) = PdfReader(io.BytesIO(printed)).pages
    size = (float(page.mediabox.width), float(page.mediabox.height))
    assert size == pytest.approx((width, height) if columns == 2 else (height, width), abs=0.5)


@pytest.mark.parametrize("rows", [30, 500])
def test_joined_pieces_are_numbered_through(rows: int) -> None:
    pieces = document_chunks(long_document(80), rows)
    printed = [
        render_pdf(
            "compliance/print/report.html",
            {
                "report": piece,
                "is_first": number == 0,
                "is_last": number == len(pieces) - 1,
                "is_piece": True,
            },
        )
        for number, piece in enumerate(pieces)
    ]

    pages = PdfReader(io.BytesIO(join_pdf(printed))).pages

    texts = [page.extract_text() for page in pages]
    for number, text in enumerate(texts, start=1):
        assert f"Page {number} of {len(pages)}" in text
    together = "\n".join(texts)
    assert all(f"0-{line}" in together for line in range(80))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("columns", [2, 9])
def test_the_number_of_a_joined_page_stands_at_its_lower_right(paper: str, columns: int) -> None:
    names = tuple(Column(f"Column {number}") for number in range(columns))
    table = Table("Table", names, tuple(tuple("x" for _ in names) for _ in range(120)))
    document = ReportDocument("Report", "All customers", (), (Section("Part", (), (table,)),))
    context = {"report": document, "is_first": True, "is_last": True, "is_piece": True, "paper": paper}

    joined = join_pdf([render_pdf("compliance/print/report.html", context)] * 2)

    pages = pypdfium2.PdfDocument(joined)
    for number, page in enumerate(pages, start=1):
        width, _ = page.get_size()
        text = page.get_textpage()
        index, count = text.search(f"Page {number} of {len(pages)}").get_next()
        left, bottom, right, _ = text.get_rect(0) if text.count_rects(index, count) else (0, 0, 0, 0)
        # The margins of the style sheet: 16 mm at the side, 20 mm below; a point is 25.4 mm / 72.
        assert right == pytest.approx(width - 16 / 25.4 * 72, abs=2)
        assert bottom < 20 / 25.4 * 72
        assert left > width / 2


def test_joining_keeps_the_drawings_compressed() -> None:
    context = {"report": long_document(400), "is_first": True, "is_last": True, "is_piece": True}
    piece = render_pdf("compliance/print/report.html", context)

    assert len(join_pdf([piece, piece])) < 2.2 * len(piece)
