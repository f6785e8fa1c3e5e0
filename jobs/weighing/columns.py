"""Finds where a log's readings begin, and which of its columns are the time and the weight.

Nothing is guessed: where a reader of the file would have to ask, this raises UnclearLog.
"""

import itertools
import re
from collections import Counter
from dataclasses import dataclass

from jobs.weighing.clock import time_kind
from jobs.weighing.errors import InvalidLog, UnclearLog
from jobs.weighing.log import Columns, TimeKind
from jobs.weighing.masses import UNITS, parse_weight, unit_of_word, units_in
from jobs.weighing.pounds_ounces import paired_ounces
from jobs.weighing.table import Row, Table

_ROWS_LOOKED_AT = 60
_TIME_WORDS = {
    "time",
    "timestamp",
    "datetime",
    "elapsed",
    "clock",
    "t",
    "s",
    "sec",
    "secs",
    "second",
    "seconds",
}
_WEIGHT_WORDS = {"weight", "weights", "wt", "mass", "gross", "net", "scale", "reading", "load"}
# A header with one of these names something else, even if a unit of mass stands in it (a flow in kg/min).
_OTHER_WORDS = {
    "rate",
    "flow",
    "per",
    "tare",
    "limit",
    "target",
    "capacity",
    "pressure",
    "temperature",
    "temp",
}
_SECONDS_PER = {
    "ms": 0.001,
    "millis": 0.001,
    "milliseconds": 0.001,
    "min": 60.0,
    "mins": 60.0,
    "minutes": 60.0,
}
_UNIT_LINE = re.compile(
    r"\W*(?:(?:weight|mass|scale)\s+)?units?\s*[:=,;\t]?\s*([a-z]+)\W*", re.ASCII | re.IGNORECASE
)


@dataclass(frozen=True)
class Layout:
    """Where the readings stand in a table."""

    rows: tuple[Row, ...]
    names: tuple[str, ...]
    time: int
    weight: int
    time_kind: TimeKind
    seconds_per_unit: float
    unit: str | None
    ounces: int | None = None


def find_layout(table: Table, *, unit: str | None, columns: Columns) -> Layout:
    """Finds the readings of a table.

    Args:
        table: the file's rows.
        unit: the unit as somebody states it, if the file doesn't.
        columns: the columns as somebody states them.

    Raises:
        UnclearLog: the file leaves open which column or unit it is, and nobody has stated it.
        InvalidLog: no readings at all, or a statement that the file contradicts.
    """
    start = _first_reading(table)
    rows = tuple(row for row in table.rows[start:] if not row.is_comment)
    names = _names(table, start, width=max(len(row.cells) for row in rows[:_ROWS_LOOKED_AT]))
    kinds = [_kind(rows[:_ROWS_LOOKED_AT], column, table) for column in range(len(names))]
    time = _time_column(table, rows, names, kinds, columns)
    ounces_of = paired_ounces(rows, names, kinds)
    weight = _weight_column(table, names, kinds, (time, ounces_of), columns)
    if weight in ounces_of:
        kinds[weight] = "mass"
    stated_by_file = _unit_of_file(table, start, rows, names, kinds, weight)
    return Layout(
        rows=rows,
        names=names,
        time=time,
        weight=weight,
        time_kind=_time_kind(rows, time),
        seconds_per_unit=_seconds_per_unit(names[time]),
        unit=_settled_unit(table, unit, stated_by_file, names[weight], kinds[weight]),
        ounces=ounces_of.get(weight),
    )


def _first_reading(table: Table) -> int:
    for index, row in enumerate(table.rows):
        if not row.is_comment and _looks_like_a_reading(row, table):
            return index
    shown = list(table.rows[0].cells)
    raise InvalidLog("file", shown, "rows with a time and a weight; no row has both")


def _looks_like_a_reading(row: Row, table: Table) -> bool:
    kinds = [_cell_kind(cell, table) for cell in row.cells]
    numbers = kinds.count("number")
    times = kinds.count("instant") + kinds.count("clock")
    return kinds.count("mass") + numbers + min(times, 1) >= 2 and (times + numbers) >= 1  # noqa: PLR2004 -- a time and a weight


def _cell_kind(cell: str, table: Table) -> str:
    if not cell:
        return ""
    comma = table.has_decimal_comma
    kind = time_kind(cell)
    if kind in ("instant", "clock"):
        return kind
    if parse_weight(cell, "kg", decimal_comma=comma) and not re.search("[a-df-zA-DF-Z]", cell):
        return "number"
    return "mass" if parse_weight(cell, None, decimal_comma=comma) else "text"


def _kind(rows: tuple[Row, ...], column: int, table: Table) -> str:
    """What most cells of a column are; single bad cells are named when they are read."""
    counts = Counter(
        kind for row in rows if column < len(row.cells) and (kind := _cell_kind(row.cells[column], table))
    )
    return counts.most_common(1)[0][0] if counts else ""


def _names(table: Table, start: int, width: int) -> tuple[str, ...]:
    """The header's names, a second row of units joined to them; empty texts without a header."""
    rows: list[tuple[str, ...]] = []
    for row in reversed(table.rows[:start]):
        cells = (row.cells[0].lstrip("#/ "), *row.cells[1:])
        if sum(bool(cell) for cell in cells) < 2:  # noqa: PLR2004 -- a time and a weight
            break
        rows.insert(0, cells)
        if not all(_is_unit(cell) for cell in cells):
            break
    padded = [(*row, *[""] * width)[:width] for row in rows]
    return (
        tuple(" ".join(filter(None, cells)) for cells in zip(*padded, strict=True))
        if padded
        else ("",) * width
    )


def _is_unit(cell: str) -> bool:
    word = cell.strip("()[]").lower()
    return (
        not word
        or unit_of_word(word) is not None
        or word in _TIME_WORDS | {"ms", "min", "c", "f", "°c", "°f"}
    )


def _words(name: str) -> set[str]:
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    return {word.lower() for word in re.split(r"[^A-Za-zÀ-ž]+", spaced) if word}


def _time_column(
    table: Table, rows: tuple[Row, ...], names: tuple[str, ...], kinds: list[str], columns: Columns
) -> int:
    if columns.time is not None:
        return _stated(columns.time, "time_column", names)
    dated = [index for index, kind in enumerate(kinds) if kind == "instant"]
    clocks = [index for index, kind in enumerate(kinds) if kind == "clock"]
    numbers = [index for index, kind in enumerate(kinds) if kind == "number"]
    named = [
        index
        for index in numbers
        if _words(names[index]) & (_TIME_WORDS | _SECONDS_PER.keys())
        and not _words(names[index]) & _OTHER_WORDS
    ]
    ticking = [] if any(names) else [index for index in numbers if _is_ticking(rows, index)]
    for candidates in (dated, clocks, named, ticking):
        if len(candidates) == 1:
            return candidates[0]
        if candidates:
            break
    raise UnclearLog(
        "time_column",
        [names[index] for index in candidates],
        "which column is the time",
        first_rows=table.first_rows,
    )


def _is_ticking(rows: tuple[Row, ...], column: int) -> bool:
    """Whether a column without a name goes on from row to row, as only elapsed time does."""
    try:
        numbers = [float(row.cells[column].replace(",", ".")) for row in rows[:_ROWS_LOOKED_AT]]
    except (ValueError, IndexError):
        return False
    return all(first < second for first, second in itertools.pairwise(numbers))


def _weight_column(
    table: Table,
    names: tuple[str, ...],
    kinds: list[str],
    taken: tuple[int, dict[int, int]],
    columns: Columns,
) -> int:
    time, ounces_of = taken
    if columns.weight is not None:
        if columns.weight == time:
            raise InvalidLog("weight_column", columns.weight + 1, "another column than the time's")
        # Half of a weight is none: whoever names the ounces means them with their pounds.
        pounds_of = {ounces: pounds for pounds, ounces in ounces_of.items()}
        return pounds_of.get(columns.weight, _stated(columns.weight, "weight_column", names))
    taken_columns = {time, *ounces_of.values()}
    possible = [
        index for index, kind in enumerate(kinds) if kind in ("number", "mass") and index not in taken_columns
    ]
    likely = [index for index in possible if not (_words(names[index]) & _OTHER_WORDS or "/" in names[index])]
    named = [index for index in likely if _words(names[index]) & _WEIGHT_WORDS]
    with_unit = [index for index in likely if units_in(names[index]) or kinds[index] == "mass"]
    nameless = [index for index in likely if len(possible) == 1 or not any(names)]
    for candidates in (named, with_unit, nameless):
        if len(candidates) == 1:
            return candidates[0]
        if candidates:
            break
    if not possible:
        raise InvalidLog("weight_column", list(names), "a column with a weight in each row")
    raise UnclearLog(
        "weight_column",
        [names[index] for index in candidates],
        "which column is the weight",
        first_rows=table.first_rows,
    )


def _stated(column: int, field: str, names: tuple[str, ...]) -> int:
    if not 0 <= column < len(names):
        raise InvalidLog(field, column + 1, f"one of the columns 1 to {len(names)}")
    return column


def _time_kind(rows: tuple[Row, ...], column: int) -> TimeKind:
    kinds = Counter(
        kind
        for row in rows[:_ROWS_LOOKED_AT]
        if column < len(row.cells) and (kind := time_kind(row.cells[column]))
    )
    if not kinds:
        cells = rows[0].cells
        raise InvalidLog(
            "time_column",
            cells[column] if column < len(cells) else None,
            "a column of times: ISO 8601, HH:MM:SS or elapsed seconds",
        )
    return kinds.most_common(1)[0][0]


def _seconds_per_unit(name: str) -> float:
    return next((factor for word, factor in _SECONDS_PER.items() if word in _words(name)), 1.0)


def _unit_of_file(
    table: Table, start: int, rows: tuple[Row, ...], names: tuple[str, ...], kinds: list[str], weight: int
) -> list[str]:
    """The units that the file may mean, most telling place first: header, unit column, line above the header."""
    if units := units_in(names[weight]):
        return units
    for column, kind in enumerate(kinds):
        if kind == "text" and column != weight:
            words = {row.cells[column] if column < len(row.cells) else "" for row in rows}
            units = list(dict.fromkeys(filter(None, (unit_of_word(word) for word in words))))
            if units and all(unit_of_word(word) for word in words):
                return units
    lines = (table.separator.join(row.cells) for row in table.rows[:start])
    words_of_lines = (
        match[1] for line in lines if (match := _UNIT_LINE.fullmatch(line.rstrip(table.separator)))
    )
    return list(dict.fromkeys(unit for word in words_of_lines if (unit := unit_of_word(word))))


def _settled_unit(table: Table, stated: str | None, of_file: list[str], name: str, kind: str) -> str | None:
    if stated is not None and unit_of_word(stated) is None:
        raise InvalidLog("unit", stated, f"one of {UNITS}")
    if kind == "mass" and units_in(name) != ["lb"]:
        return None
    if kind == "mass":
        if stated is not None and unit_of_word(stated) not in ("lb", "oz"):
            raise InvalidLog("unit", stated, "lb or oz, which the file itself says")
        return None
    if stated is not None:
        unit = unit_of_word(stated)
        if of_file and unit not in of_file:
            raise InvalidLog("unit", stated, f"{' or '.join(of_file)}, which the file itself says")
        return unit
    if len(of_file) == 1:
        return of_file[0]
    raise UnclearLog(
        "unit", of_file or name or None, f"the unit of the weights: {UNITS}", first_rows=table.first_rows
    )
