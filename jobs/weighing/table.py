"""A log's bytes as rows of cells: coding, separator, comments, header. What the columns mean is not known here."""

import csv
import io
from dataclasses import dataclass
from itertools import islice
from statistics import median

from jobs.weighing.errors import InvalidLog

MAX_BYTES = 32 * 1024 * 1024
_LINES_LOOKED_AT = 200
_SEPARATORS = ("\t", ";", ",")
_BOMS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_COMMENTS = ("#", "//")
_ROWS_SHOWN = 12


@dataclass(frozen=True)
class Row:
    """The cells of one row, stripped, and the line of the file that it ended on, counted from 1."""

    cells: tuple[str, ...]
    line: int

    @property
    def is_comment(self) -> bool:
        """Whether the row is marked as a remark."""
        return self.cells[0].startswith(_COMMENTS)


@dataclass(frozen=True)
class Table:
    """The rows of a file that aren't blank, and the separator between their cells."""

    rows: tuple[Row, ...]
    separator: str

    @property
    def has_decimal_comma(self) -> bool:
        """Whether a comma in a number can only be a decimal comma."""
        return self.separator != ","

    @property
    def first_rows(self) -> list[list[str]]:
        """The first rows, for a person to look at."""
        return [list(row.cells) for row in self.rows[:_ROWS_SHOWN]]


def read_table(data: bytes) -> Table:
    """Splits a file into rows of cells.

    Raises:
        InvalidLog: empty, too large, binary, not UTF-8 or UTF-16, or not separated by commas, semicolons or tabs.
    """
    if len(data) > MAX_BYTES:
        raise InvalidLog("file", f"{len(data)} bytes", f"a log of at most {MAX_BYTES // 1024**2} MB")
    text = _decode(data)
    if not text.strip():
        raise InvalidLog("file", "", "a log with rows of a time and a weight; it is empty")
    separator = _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        rows = tuple(
            Row(tuple(cells), reader.line_num)
            for row in reader
            if any(cells := [cell.strip() for cell in row])
        )
    except csv.Error as error:
        raise InvalidLog(
            f"line {reader.line_num}", str(error), "cells of text", line=reader.line_num
        ) from error
    return Table(rows, separator)


def _decode(data: bytes) -> str:
    coding = next((coding for bom, coding in _BOMS if data.startswith(bom)), "utf-8")
    try:
        text = data.decode(coding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        shown = data[error.start : error.start + 8].hex(" ")
        raise InvalidLog(f"line {line}", f"bytes {shown}", "text in UTF-8", line=line) from None
    if "\0" in text:
        raise InvalidLog("file", "a binary file", "text, separated by commas, semicolons or tabs")
    return text


def _separator(text: str) -> str:
    lines = [line for line in islice(io.StringIO(text), _LINES_LOOKED_AT) if line.strip()]
    # A comma comes last: in a file of semicolons or tabs it is a decimal comma.
    for separator in _SEPARATORS:
        if median(line.count(separator) for line in lines) >= 1:
            return separator
    raise InvalidLog(
        "file",
        lines[0].strip()[:80] if lines else "",
        "rows whose cells are separated by commas, semicolons or tabs",
    )
