"""Prints a long document piece by piece into one PDF: tagged, with bookmarks, its pages numbered through.

A piece is laid out and written before the next is begun, so that memory stays bounded however long the document is.
What stands for the whole is put together at the end: the tree of pages, the structure of tags with the table that leads
from a page to it, the bookmarks. How many pages there are is known only then, so each page's number is a drawing of its
own. Of a bundle, each title begins a document that counts its own pages.
"""

import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from portal.web.pdf import render_pdf
from portal.web.pdf_file import PdfFile

#: Layout takes memory by the page, given back after each lot.
NUMBERS_AT_A_TIME = 200
#: Widths of a letter sheet and an A4 sheet, upright and on their side, in points (ANSI/ASME Y14.1, ISO 216).
LETTER_WIDTHS = (612, 792)
#: What belongs to the whole, and is put together anew.
_OF_THE_WHOLE = ("Pages", "Outlines", "StructTreeRoot")
# Strings are passed over: what looks like a reference in them is none (ISO 32000-1, 7.3.4, 7.3.10).
_REFERENCE = re.compile(rb"\((?:[^\\()]|\\.)*\)|<[0-9A-Fa-f]*>|(\d+) 0 R", re.DOTALL)


@dataclass
class _Bookmark:
    """An entry of the outline: its title and where it leads to, as they are written."""

    title: bytes
    destination: bytes
    kids: list["_Bookmark"] = field(default_factory=list)

    @property
    def size(self) -> int:
        """How many entries it is with those under it."""
        return 1 + sum(kid.size for kid in self.kids)


@dataclass
class _Page:
    """What its number waits for: the object that will be its drawing, and its sheet as the style sheet has it.

    ``is_titled`` says whether a title stands on it.
    """

    number: int
    sheet: str
    is_titled: bool


class _Numbers:
    """From the numbers that objects have in a piece to those that they have in the whole."""

    def __init__(self, file: PdfFile, count: int) -> None:
        self._file = file
        self._numbers: list[int | None] = [None] * count

    def put(self, number: int, of_whole: int) -> None:
        """Let something of the whole take the place of an object."""
        self._numbers[number] = of_whole

    def foreign(self, of_whole: int) -> bytes:
        """A reference, as the piece would write it, to an object of the whole."""
        self._numbers.append(of_whole)
        return b"%d 0 R" % (len(self._numbers) - 1)

    def of(self, number: int) -> int:
        """The number in the whole."""
        of_whole = self._numbers[number]
        if of_whole is None:
            of_whole = self._numbers[number] = self._file.reserve()
        return of_whole

    def written(self, data: bytes) -> bytes:
        """Something written with the piece's references, with those of the whole."""
        return _REFERENCE.sub(
            lambda found: found[0] if found[1] is None else b"%d 0 R" % self.of(int(found[1])), data
        )


class JoinedPdf:
    """A PDF that pieces are added to; each is printed without page numbers.

    Args:
        is_bundle: whether each title begins a document by itself, whose pages are counted by themselves.
    """

    def __init__(self, *, is_bundle: bool = False) -> None:
        self._is_bundle = is_bundle
        self._buffer = io.BytesIO()
        self._file = PdfFile(self._buffer)
        self._root, self._document, self._page_tree = (self._file.reserve() for _ in range(3))
        self._before = self._file.add_stream(b"q\n")
        self._pages: list[_Page] = []
        self._page_nodes: list[int] = []
        self._elements: list[bytes] = []
        self._parents: list[int] = []
        self._next_parent = 0
        self._bookmarks: list[_Bookmark] = []
        self._catalogue = self._info = b""

    def add(self, template_name: str, context: dict[str, Any]) -> None:
        """Print a piece and write it."""
        render_pdf(template_name, context, finisher=self._take)

    def finish(self) -> bytes:
        """Number the pages, write what stands for the whole, and return all of it."""
        numbers = list(self._page_numbers())
        for start in range(0, len(self._pages), NUMBERS_AT_A_TIME):
            lot = slice(start, start + NUMBERS_AT_A_TIME)
            self._draw_numbers(self._pages[lot], numbers[lot])
        file = self._file
        nodes = _references(self._page_nodes)
        file.write(self._page_tree, b"<</Type/Pages/Kids[%b]/Count %d>>" % (nodes, len(self._pages)))
        elements = b" ".join(self._elements)
        file.write(self._document, b"<</Type/StructElem/S/Document/P %d 0 R/K[%b]>>" % (self._root, elements))
        parents = file.add(b"<</Kids[%b]>>" % _references(self._parents))
        structure = b"<</Type/StructTreeRoot/K[%d 0 R]/ParentTree %d 0 R/ParentTreeNextKey %d>>"
        file.write(self._root, structure % (self._document, parents, self._next_parent))
        whole = b"/Pages %d 0 R/StructTreeRoot %d 0 R" % (self._page_tree, self._root)
        if self._bookmarks:
            outline = file.reserve()
            file.write(outline, b"<</Type/Outlines%b>>" % self._write_bookmarks(self._bookmarks, outline))
            whole += b"/Outlines %d 0 R" % outline
        catalogue = file.add(self._catalogue.removesuffix(b">>") + whole + b">>")
        file.close(catalogue, file.add(self._info))
        return self._buffer.getvalue()

    def _take(self, document: Any, pdf: Any) -> None:
        """Write a laid out piece.

        Args:
            document: as the engine has laid it out.
            pdf: as the engine would write it.
        """
        numbers = _Numbers(self._file, len(pdf.objects))
        structure_root = _at(pdf, pdf.catalog["StructTreeRoot"])
        structure = _at(pdf, structure_root["K"][0])
        left_out = {0, pdf.catalog.number, structure_root.number, structure.number}
        numbers.put(structure.number, self._document)
        # Nothing refers to the first object, which is none.
        numbers.put(0, self._page_tree)
        pdf.pages["Parent"] = b"0 0 R"
        self._page_nodes.append(numbers.of(pdf.pages.number))
        self._elements.append(numbers.written(structure["K"].data).strip(b"[]"))
        self._take_bookmarks(document, pdf, numbers, left_out)
        self._take_pages(document, pdf, numbers)
        self._take_keys(pdf, numbers, _at(pdf, structure_root["ParentTree"]))
        self._take_catalogue(pdf, numbers, left_out)
        self._write(pdf, numbers, left_out)

    def _take_pages(self, document: Any, pdf: Any, numbers: _Numbers) -> None:
        """Prepare pages for their numbers; their own commands are kept from changing where a number lies."""
        for laid_out, reference in zip(document.pages, pdf.page_references, strict=True):
            page = _at(pdf, reference)
            name = b"PageNumber%d" % (len(self._pages) + 1)
            drawing = self._file.reserve()
            self._pages.append(_Page(drawing, _sheet(page), _is_titled(laid_out)))
            after = self._file.add_stream(b"\nQ /Artifact <</Type /Pagination>> BDC q /%b Do Q EMC\n" % name)
            parts = (numbers.foreign(self._before), page["Contents"], numbers.foreign(after))
            page["Contents"] = b"[%b]" % b" ".join(parts)
            # The pages of a piece share one list of drawings, so that each number needs its own name.
            _at(pdf, page["Resources"])["XObject"][name.decode()] = numbers.foreign(drawing)

    def _take_keys(self, pdf: Any, numbers: _Numbers, parents: Any) -> None:
        """Make keys into the structure, and the names of table cells, unlike those of other pieces."""
        first, piece = self._next_parent, len(self._parents) + 1
        nums = parents["Nums"]
        nums[::2] = [first + key for key in nums[::2]]
        self._next_parent += len(nums) // 2
        parents["Limits"] = b"[%d %d]" % (first, self._next_parent - 1)
        self._parents.append(numbers.of(parents.number))
        for written in pdf.objects:
            if not isinstance(written, dict):
                continue
            for key in ("StructParents", "StructParent"):
                if key in written:
                    written[key] += first
            if "ID" in written:
                # Shared with the cells that name it as their header.
                written["ID"].string = f"{piece}-{written['ID'].string}"

    def _take_bookmarks(self, document: Any, pdf: Any, numbers: _Numbers, left_out: set[int]) -> None:
        """Keep the bookmarks; those of a piece without a title of its own belong to the title before it."""
        if "Outlines" not in pdf.catalog:
            return
        outline = _at(pdf, pdf.catalog["Outlines"])
        taken = list(_bookmarks_under(outline, pdf, numbers, left_out))
        is_titled = any(map(_is_titled, document.pages))
        (self._bookmarks if is_titled or not self._bookmarks else self._bookmarks[-1].kids).extend(taken)

    def _take_catalogue(self, pdf: Any, numbers: _Numbers, left_out: set[int]) -> None:
        """Keep of the first piece what is said of the whole: title, language, that it is tagged, by which standard."""
        if "Names" in pdf.catalog:
            message = "a piece of a long document has links within it, which would not be found in the whole"
            raise ValueError(message)
        for key in _OF_THE_WHOLE:
            pdf.catalog.pop(key, None)
        if not self._catalogue:
            self._catalogue = numbers.written(pdf.catalog.data)
            self._info = pdf.info.data
        elif "Metadata" in pdf.catalog:
            left_out.add(_at(pdf, pdf.catalog["Metadata"]).number)

    def _page_numbers(self) -> Iterator[tuple[int, int]]:
        """The number of each page, and of how many it is one."""
        starts = {0, *(place for place, page in enumerate(self._pages) if self._is_bundle and page.is_titled)}
        for start, end in pairwise([*sorted(starts), len(self._pages)]):
            count = end - start
            yield from ((number, count) for number in range(1, count + 1))

    def _draw_numbers(self, pages: list[_Page], numbers: list[tuple[int, int]]) -> None:
        sheets = [(page.sheet, number, count) for page, (number, count) in zip(pages, numbers, strict=True)]

        def take(_: Any, pdf: Any) -> None:
            numbers = _Numbers(self._file, len(pdf.objects))
            left_out = {0, pdf.catalog.number, pdf.pages.number}
            for page, reference in zip(pages, pdf.page_references, strict=True):
                drawn = _at(pdf, reference)
                drawing = _at(pdf, drawn["Contents"])
                form = {"Type": "/XObject", "Subtype": "/Form", "BBox": drawn["MediaBox"]}
                drawing.extra = {**drawing.extra, **form, "Resources": drawn["Resources"]}
                numbers.put(drawing.number, page.number)
                left_out.add(drawn.number)
            self._write(pdf, numbers, left_out)

        render_pdf("print/page_numbers.html", {"sheets": sheets}, finisher=take, is_tagged=False)

    def _write(self, pdf: Any, numbers: _Numbers, left_out: set[int]) -> None:
        for written in pdf.objects:
            if written.number in left_out:
                continue
            number = numbers.of(written.number)
            if written.compressible:
                self._file.write(number, numbers.written(written.data))
            else:
                keys, start, content = written.data.partition(b"\nstream\n")
                self._file.write_stream(number, numbers.written(keys) + start + content)

    def _write_bookmarks(self, bookmarks: list[_Bookmark], parent: int) -> bytes:
        """Write bookmarks; return what their parent says of them."""
        if not bookmarks:
            return b""
        places = [self._file.reserve() for _ in bookmarks]
        for bookmark, place, before, after in zip(
            bookmarks, places, [0, *places], [*places[1:], 0], strict=False
        ):
            links = b"/Prev %d 0 R" % before if before else b""
            links += b"/Next %d 0 R" % after if after else b""
            kids = self._write_bookmarks(bookmark.kids, place)
            entry = b"<</Title %b/Dest %b/Parent %d 0 R%b%b>>"
            self._file.write(place, entry % (bookmark.title, bookmark.destination, parent, links, kids))
        count = sum(bookmark.size for bookmark in bookmarks)
        return b"/First %d 0 R/Last %d 0 R/Count %d" % (places[0], places[-1], count)


def _at(pdf: Any, reference: bytes) -> Any:
    """The object that a reference of a piece leads to."""
    return pdf.objects[int(reference.partition(b" ")[0])]


def _references(numbers: Iterable[int]) -> bytes:
    return b" ".join(b"%d 0 R" % number for number in numbers)


def _bookmarks_under(parent: Any, pdf: Any, numbers: _Numbers, left_out: set[int]) -> Iterator[_Bookmark]:
    left_out.add(parent.number)
    reference = parent.get("First")
    while reference is not None:
        entry = _at(pdf, reference)
        kids = list(_bookmarks_under(entry, pdf, numbers, left_out))
        yield _Bookmark(entry["Title"].data, numbers.written(entry["Dest"].data), kids)
        reference = entry.get("Next")


def _is_titled(page: Any) -> bool:
    """Whether a title begins on a page as laid out."""
    return any(level == 1 for level, *_ in page.bookmarks)


def _sheet(page: Any) -> str:
    """The name of the paper a page lies on, as the style sheet has it."""
    left, top, right, bottom = page["MediaBox"]
    width, height = right - left, bottom - top
    paper = "letter" if any(abs(width - own) < 1 for own in LETTER_WIDTHS) else "a4"
    return f"{paper}-wide" if width > height else paper
