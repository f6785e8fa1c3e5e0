"""Reads back what a person gets: a page's HTML and a print's tagged PDF, both as one run of blocks.

A block is a heading, a paragraph, an item of a list (of a description list each term and each description), or a table
as rows of cells. Nothing of the portal is used to read.
"""

import ctypes
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from io import BytesIO
from typing import Any

import pypdfium2
import pypdfium2.raw as pdfium
from pypdf import PdfReader

HEADING, PARAGRAPH, ITEM, TABLE = "heading", "paragraph", "item", "table"
KINDS = {
    **{f"h{level}": HEADING for level in range(1, 7)},
    "p": PARAGRAPH,
    "li": ITEM,
    "dt": ITEM,
    "dd": ITEM,
}
PDF_KINDS = {**{f"/H{level}": HEADING for level in range(1, 7)}, "/P": PARAGRAPH, "/LI": ITEM}
#: Of the frame around a report, and what a page has to be chosen from.
SKIPPED = ("nav", "form", "script", "style", "svg", "header", "footer")
#: White space, and what breaks lines or keeps them together without being seen.
UNSEEN = re.compile("[\\s\u00a0\u00ad\u200b\u2060]+")


@dataclass
class Block:
    """A heading, paragraph or item with its ``text``, or a table with its ``rows``."""

    kind: str
    text: str = ""
    rows: list[list[str]] = field(default_factory=list)


def spaced(text: str) -> str:
    """A text with one space between its words, wherever its lines broke."""
    return UNSEEN.sub(" ", text).strip()


def bare(text: str) -> str:
    """A text without any white space: where lines break is no matter of what is said."""
    return UNSEEN.sub("", text)


class _Page(HTMLParser):
    """Gathers the blocks of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.blocks: list[Block] = []
        self.open: Block | None = None
        self.table: Block | None = None
        self.is_in_cell = False
        self.skipped = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in SKIPPED:
            self.skipped += 1
        elif self.skipped:
            return
        elif tag == "table":
            self.table = Block(TABLE)
            self.blocks.append(self.table)
        elif self.table is not None:
            if tag == "tr":
                self.table.rows.append([])
            elif tag in {"td", "th"}:
                self.table.rows[-1].append("")
                self.is_in_cell = True
        elif tag in KINDS:
            self.open = Block(KINDS[tag])
            self.blocks.append(self.open)
        self.handle_data(" ")

    def handle_endtag(self, tag: str) -> None:
        if tag in SKIPPED:
            self.skipped -= 1
        elif tag == "table":
            self.table = None
        elif tag in {"td", "th"}:
            self.is_in_cell = False
        elif tag in KINDS:
            self.open = None

    def handle_data(self, data: str) -> None:
        if self.skipped:
            return
        if self.table is not None:
            if self.is_in_cell:
                self.table.rows[-1][-1] += data
        elif self.open is not None:
            self.open.text += data


def page_blocks(html: str) -> list[Block]:
    """The blocks of a page, in order."""
    reader = _Page()
    reader.feed(html)
    return reader.blocks


def pdf_blocks(content: bytes) -> list[Block]:
    """The blocks of a tagged PDF, in order: its structure says what belongs to which cell of which row.

    A table that goes on over a page is one table.
    """
    reader = PdfReader(BytesIO(content))
    places = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages)}
    blocks = list(_blocks(reader.root_object["/StructTreeRoot"], _Marked(content, places)))
    joined: list[Block] = []
    for block in blocks:
        before = joined[-1] if joined else None
        if block.kind == TABLE and before and before.kind == TABLE and before.rows[0] == block.rows[0]:
            before.rows += block.rows[1:]
        else:
            joined.append(block)
    return joined


class _Marked:
    """The text of each piece of marked content: page and number (ISO 32000-1, 14.6, 14.7.4)."""

    def __init__(self, content: bytes, places: dict[int, int]) -> None:
        self._places = places
        self._texts: list[dict[int, str]] = []
        document = pypdfium2.PdfDocument(content)
        for page in document:
            words = page.get_textpage()
            texts: dict[int, str] = {}
            for part in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT]):
                mark = pdfium.FPDFPageObj_GetMarkedContentID(part.raw)
                texts[mark] = texts.get(mark, "") + _text(part.raw, words.raw)
            self._texts.append(texts)
        document.close()

    def text(self, page: Any, mark: int) -> str:
        return self._texts[self._places[page.indirect_reference.idnum]].get(mark, "")


def _text(part: Any, words: Any) -> str:
    length = pdfium.FPDFTextObj_GetText(part, words, None, 0)
    buffer = ctypes.create_string_buffer(length)
    pdfium.FPDFTextObj_GetText(part, words, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), length)
    # The reader gives a hyphen after which a line breaks as a sign of its own.
    return buffer.raw[:length].decode("utf-16-le").rstrip("\0").replace("\x02", "-")


def _kids(element: Any) -> list[Any]:
    return [kid if isinstance(kid, int) else kid.get_object() for kid in element.get("/K", ())]


def _words(element: Any, marked: _Marked) -> str:
    """All text under an element."""
    words = ""
    for kid in _kids(element):
        if isinstance(kid, int):
            words += marked.text(element["/Pg"], kid)
        elif kid.get("/Type") != "/OBJR":
            words += " " + _words(kid, marked)
    return words


def _blocks(element: Any, marked: _Marked) -> Iterator[Block]:
    for kid in _kids(element):
        if isinstance(kid, int) or kid.get("/Type") == "/OBJR":
            continue
        if kid["/S"] == "/Table":
            yield Block(TABLE, rows=list(_rows(kid, marked)))
        elif kid["/S"] in PDF_KINDS:
            yield Block(PDF_KINDS[kid["/S"]], _words(kid, marked))
        else:
            yield from _blocks(kid, marked)


def _rows(element: Any, marked: _Marked) -> Iterator[list[str]]:
    for kid in _kids(element):
        if isinstance(kid, int):
            continue
        if kid["/S"] == "/TR":
            yield [_words(cell, marked) for cell in _kids(kid)]
        else:
            yield from _rows(kid, marked)
