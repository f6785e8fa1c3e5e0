"""Joins the printed pieces of a long document and numbers its pages: “Page x of y”, where a piece would have had it.

A page's own drawing stays as it is, compressed; its number is a drawing of its own that is put on top. Reading each
drawing to write both anew would take a second for ten pages and treble the file.
"""

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING

from portal.web.pdf import render_pdf

if TYPE_CHECKING:
    from pypdf import PageObject, PdfWriter
    from pypdf.generic import IndirectObject

#: Layout takes memory by the page, given back after each lot.
AT_A_TIME = 200
#: Widths of a letter sheet and an A4 sheet, upright and on their side, in points (ANSI/ASME Y14.1, ISO 216).
LETTER_WIDTHS = (612, 792)


def join_pdf(pieces: Iterable[bytes]) -> bytes:
    """Join printed pieces into one PDF and number its pages; the pieces themselves carry no numbers.

    What is joined is plain PDF: the pieces' tags don't survive it.
    """
    # Like the engine: only who prints waits for it.
    from pypdf import PdfReader, PdfWriter  # noqa: PLC0415

    writer = PdfWriter()
    for piece in pieces:
        writer.append(PdfReader(io.BytesIO(piece)), import_outline=False)
    _number(writer)
    buffer = io.BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def _number(writer: "PdfWriter") -> None:
    from pypdf import PdfReader  # noqa: PLC0415 -- as above

    before, total = _stream(writer, "q\n"), len(writer.pages)
    for start in range(0, total, AT_A_TIME):
        pages = writer.pages[start : start + AT_A_TIME]
        sheets = [(start + place, _sheet(page)) for place, page in enumerate(pages, start=1)]
        numbers = render_pdf("print/page_numbers.html", {"sheets": sheets, "total": total})
        drawings = PdfReader(io.BytesIO(numbers)).pages
        for (number, _), page, drawing in zip(sheets, pages, drawings, strict=True):
            # The pages of a piece share one list of drawings, so that each needs its own name.
            _put(writer, page, drawing, f"/PageNumber{number}", before)


def _sheet(page: "PageObject") -> str:
    """The name of the paper a page lies on, as the style sheet has it."""
    width, height = float(page.mediabox.width), float(page.mediabox.height)
    paper = "letter" if any(abs(width - own) < 1 for own in LETTER_WIDTHS) else "a4"
    return f"{paper}-wide" if width > height else paper


def _stream(writer: "PdfWriter", commands: str) -> "IndirectObject":
    from pypdf.generic import StreamObject  # noqa: PLC0415 -- as above

    stream = StreamObject()
    stream.set_data(commands.encode())
    return writer._add_object(stream)  # noqa: SLF001 -- the library's one way to add an object


def _put(
    writer: "PdfWriter", page: "PageObject", drawing: "PageObject", name: str, before: "IndirectObject"
) -> None:
    """Put a drawing on top of a page; the page's own commands are kept from changing where it lies."""
    from pypdf.generic import ArrayObject, DictionaryObject, NameObject, StreamObject  # noqa: PLC0415 -- as above

    form = drawing.raw_get("/Contents").get_object().clone(writer, force_duplicate=True)
    if not isinstance(form, StreamObject):
        message = f"the drawing of a page number came as {type(form).__name__}"
        raise TypeError(message)
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = drawing.mediabox
    form[NameObject("/Resources")] = drawing.raw_get("/Resources").clone(writer)
    resources: DictionaryObject = page.raw_get("/Resources").get_object()
    drawings: DictionaryObject = resources.setdefault(NameObject("/XObject"), DictionaryObject()).get_object()
    drawings[NameObject(name)] = form.indirect_reference
    after = _stream(writer, f"\nQ q {name} Do Q\n")
    page[NameObject("/Contents")] = ArrayObject([before, page.raw_get("/Contents"), after])
