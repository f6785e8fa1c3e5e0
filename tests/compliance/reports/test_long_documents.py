"""Long reports are printed in pieces and joined: nothing lost, pages numbered through."""

import io
import re
from collections import Counter

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Section, Table
from compliance.services.reports.chunks import document_chunks
from portal.web.joined_pdf import JoinedPdf
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


def joined(*pieces: ReportDocument, paper: str = "letter") -> bytes:
    """Pieces as they are printed one after the other."""
    pdf = JoinedPdf()
    for number, piece in enumerate(pieces):
        context = {
            "report": piece,
            "paper": paper,
            "is_piece": True,
            "is_first": number == 0,
            "is_last": number == len(pieces) - 1,
        }
        pdf.add("compliance/print/report.html", context)
    return pdf.finish()


@pytest.mark.parametrize("rows", [30, 500])
def test_joined_pieces_are_numbered_through(rows: int) -> None:
    pages = PdfReader(io.BytesIO(joined(*document_chunks(long_document(80), rows)))).pages

    texts = [page.extract_text() for page in pages]
    for number, text in enumerate(texts, start=1):
        assert f"Page {number} of {len(pages)}" in text
    together = "\n".join(texts)
    assert all(f"0-{line}" in together for line in range(80))
    assert together.count("Long report") == 1
    assert together.count("no legal advice") == 1


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("columns", [2, 9])
def test_the_number_of_a_joined_page_stands_at_its_lower_right(paper: str, columns: int) -> None:
    names = tuple(Column(f"Column {number}") for number in range(columns))
    table = Table("Table", names, tuple(tuple("x" for _ in names) for _ in range(120)))
    document = ReportDocument("Report", "All customers", (), (Section("Part", (), (table,)),))

    pages = pypdfium2.PdfDocument(joined(document, document, paper=paper))

    for number, page in enumerate(pages, start=1):
        width, _ = page.get_size()
        text = page.get_textpage()
        index, count = text.search(f"Page {number} of {len(pages)}").get_next()
        left, bottom, right, _ = text.get_rect(0) if text.count_rects(index, count) else (0, 0, 0, 0)
        # The margins of the style sheet: 16 mm at the side, 20 mm below; a point is 25.4 mm / 72.
        assert right == pytest.approx(width - 16 / 25.4 * 72, abs=2)
        assert bottom < 20 / 25.4 * 72
        assert left > width / 2


def test_joining_adds_little() -> None:
    document = long_document(400)
    context = {"report": document, "is_first": True, "is_last": True, "is_piece": True}
    piece = render_pdf("compliance/print/report.html", context)

    assert len(joined(document, document)) < 2.3 * len(piece)


@pytest.fixture(scope="module")
def whole() -> PdfReader:
    return PdfReader(io.BytesIO(joined(*document_chunks(long_document(40, 7, 30), 25))), strict=True)


@pytest.fixture(scope="module")
def at_once() -> PdfReader:
    context = {"report": long_document(40, 7, 30), "is_first": True, "is_last": True}
    return PdfReader(io.BytesIO(render_pdf("compliance/print/report.html", context)))


class TestTags:
    """What joined pieces carry for who has a page read out: as much as a document printed at once."""

    def test_catalogue_says_the_same_of_both(self, whole: PdfReader, at_once: PdfReader) -> None:
        for key in ("/Lang", "/MarkInfo", "/ViewerPreferences"):
            assert whole.root_object[key] == at_once.root_object[key]
        assert whole.metadata == at_once.metadata
        assert whole.root_object["/Metadata"].get_data() == at_once.root_object["/Metadata"].get_data()
        assert b"pdfuaid" in whole.root_object["/Metadata"].get_data()

    def test_every_cell_has_its_tag(self, whole: PdfReader, at_once: PdfReader) -> None:
        counts, of_one = (
            Counter(element["/S"] for element in elements(reader)) for reader in (whole, at_once)
        )

        for tag in ("/TD", "/P", "/H1", "/LBody"):
            assert counts[tag] == of_one[tag] > 0, tag
        # Each piece that goes on with a table repeats its head, as each page does.
        assert counts["/TBody"] >= 3
        assert counts["/Document"] == 1

    # Source: ISO 32000-1, 14.7.4.4: from a page's key the table leads to the elements of its marked contents, in order.
    def test_each_piece_of_text_leads_to_its_element(self, whole: PdfReader) -> None:
        known = {element.indirect_reference.idnum for element in elements(whole)}
        leaves = whole.root_object["/StructTreeRoot"]["/ParentTree"]["/Kids"]
        parents: dict[int, list] = {}
        for leaf in leaves:
            nums = leaf.get_object()["/Nums"]
            first, last = leaf.get_object()["/Limits"]
            assert list(nums[::2]) == list(range(first, last + 1))
            parents.update(zip(nums[::2], nums[1::2], strict=True))
        found = 0

        for key, page in enumerate(whole.pages):
            assert page["/StructParents"] == key
            marks = [int(mark) for mark in re.findall(rb"/MCID (\d+)", page.get_contents().get_data())]
            assert sorted(marks) == list(range(len(parents[key])))
            for mark, reference in enumerate(parents[key]):
                element = reference.get_object()
                assert element["/Pg"].indirect_reference == page.indirect_reference
                assert mark in element["/K"]
                found += reference.idnum in known
        assert found > 150
        assert len(parents) == len(whole.pages)

    def test_each_cell_names_heads_of_its_own_table(self, whole: PdfReader) -> None:
        heads: Counter[str] = Counter(str(element["/ID"]) for element in elements(whole) if "/ID" in element)
        named = [head for element in elements(whole) for head in element.get("/A", {}).get("/Headers", ())]

        assert set(heads.values()) == {1}
        assert len(named) == 2 * (40 + 7 + 30)
        assert set(map(str, named)) <= set(heads)

    def test_bookmarks_lead_to_the_sections(self, whole: PdfReader) -> None:
        title, under = whole.outline

        assert title["/Title"] == "Long report"
        assert [entry["/Title"] for entry in under] == [
            *("Part 0", "Part 0, continued", "Part 1", "Part 2", "Part 2, continued")
        ]
        for entry in under:
            page = whole.get_destination_page_number(entry)
            assert entry["/Title"] in whole.pages[page].extract_text()

    def test_page_numbers_are_no_text_to_read_out(self, whole: PdfReader) -> None:
        for number, page in enumerate(whole.pages, start=1):
            assert b"/Artifact" in page.get_contents().get_data()
            drawing = page["/Resources"]["/XObject"][f"/PageNumber{number}"]
            assert b"MCID" not in drawing.get_data()


def elements(reader: PdfReader) -> list[DictionaryObject]:
    """The structure elements that are reached from the root; each says where it hangs."""
    root = reader.root_object["/StructTreeRoot"]
    found, waiting = [], [(root, kid) for kid in root["/K"]]
    while waiting:
        parent, kid = waiting.pop()
        element = kid.get_object()
        if not isinstance(element, dict):
            continue
        assert element["/P"].indirect_reference == parent.indirect_reference
        found.append(element)
        waiting += [(element, below) for below in element["/K"]]
    return found


def test_what_looks_like_a_reference_within_a_text_stays_as_it_is() -> None:
    words = "(5 0 R) \\ 7 0 R )( <9 0 R>"
    table = Table(words, (Column(words),), ((words,),))
    sections = (Section(words, (words,), (table,)), Section("Ünruhige 5 0 R", (), ()))
    document = ReportDocument(words, "All customers", (), sections)

    reader = PdfReader(io.BytesIO(joined(document, document)), strict=True)

    title, under = reader.outline
    assert title["/Title"] == words
    assert [entry["/Title"] for entry in under] == [words, "Ünruhige 5 0 R"] * 2
    assert reader.metadata is not None
    assert reader.metadata.title == f"{words}, All customers"
