"""Reads a scale's log from the bytes of a file. What the readings mean is found out in ``estimation``."""

from fractions import Fraction
from math import floor

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.clock import parse_times_s, unroll_s
from jobs.weighing.columns import Layout, find_layout
from jobs.weighing.errors import InvalidLog
from jobs.weighing.log import Columns, WeighLog
from jobs.weighing.masses import MAX_WEIGHT_MG, parse_weight
from jobs.weighing.pounds_ounces import joined
from jobs.weighing.table import read_table

MAX_SAMPLES = 1_000_000
_FEWEST_SAMPLES = 2
# A zeroed scale may go below zero: by the flow of one reading when the key was pressed, then on.
_NEAR_ZERO_FRACTION = 0.02


def read_log(data: bytes, *, unit: str | None = None, columns: Columns | None = None) -> WeighLog:
    """Reads a log: comma, semicolon or tab separated text with a time and a weight in each row.

    Args:
        data: the file.
        unit: kg, g, lb or oz, where the file doesn't say.
        columns: where the file doesn't make clear which they are.

    Returns:
        The readings, in the file's order.

    Raises:
        UnclearLog: the unit or a column has to be stated; nothing is guessed.
        InvalidLog: no log, or a row that can't be read, named by its line.
    """
    table = read_table(data)
    layout = find_layout(table, unit=unit, columns=columns or Columns())
    _require_samples(layout)
    texts = _cells(layout, layout.time, "time")
    lines = [row.line for row in layout.rows]
    clock_s = parse_times_s(texts, lines, layout.time_kind, layout.seconds_per_unit)
    weights_mg, resolution_mg, shown_unit = _weights_mg(layout, decimal_comma=table.has_decimal_comma)
    _refuse_negative(layout, weights_mg, resolution_mg)
    times_s, went_back_at = unroll_s(clock_s, layout.time_kind)
    return WeighLog(
        times_s=times_s,
        weights_mg=weights_mg,
        time_texts=tuple(texts),
        time_kind=layout.time_kind,
        went_back_at=went_back_at,
        resolution_mg=resolution_mg,
        unit=shown_unit,
        columns=Columns(layout.time, layout.weight),
        column_names=layout.names,
        has_ounces_apart=layout.ounces is not None,
    )


def _require_samples(layout: Layout) -> None:
    samples = len(layout.rows)
    if samples < _FEWEST_SAMPLES:
        raise InvalidLog(
            "file", f"{samples} reading", "a reading before and a reading after the flow at least"
        )
    if samples > MAX_SAMPLES:
        raise InvalidLog("file", f"{samples} readings", f"at most {MAX_SAMPLES} readings")


def _cells(layout: Layout, column: int, what: str) -> list[str]:
    for row in layout.rows:
        if column >= len(row.cells) or not row.cells[column]:
            raise InvalidLog(
                f"line {row.line}, {what}",
                "",
                f"a {what} in column {column + 1}; there is none",
                line=row.line,
            )
    return [row.cells[column] for row in layout.rows]


def _weights_mg(layout: Layout, *, decimal_comma: bool) -> tuple[NDArray[np.int64], float, str]:
    texts = _cells(layout, layout.weight, "weight")
    if layout.ounces is not None:
        texts = list(map(joined, texts, _cells(layout, layout.ounces, "weight")))
    known: dict[str, int] = {}
    digit_mg, unit = None, layout.unit
    for row, text in zip(layout.rows, texts, strict=True):
        if text in known:
            continue
        parsed = parse_weight(text, layout.unit, decimal_comma=decimal_comma)
        if parsed is None or abs(parsed[0]) > MAX_WEIGHT_MG:
            raise _unreadable(row.line, text, layout.unit, is_too_large=parsed is not None)
        exact_mg, last_digit_mg, unit = parsed
        known[text] = floor(exact_mg + Fraction(1, 2))
        digit_mg = last_digit_mg if digit_mg is None else min(digit_mg, last_digit_mg)
    weights_mg = np.fromiter((known[text] for text in texts), dtype=np.int64, count=len(texts))
    return weights_mg, float(digit_mg or 0), unit or ""


def _unreadable(line: int, text: str, unit: str | None, *, is_too_large: bool) -> InvalidLog:
    expected = f"a weight in {unit}, such as 12.5" if unit else "a weight with its unit, such as 3 lb 4.5 oz"
    if is_too_large:
        expected = f"a weight of at most {MAX_WEIGHT_MG // 1_000_000} kg"
    return InvalidLog(f"line {line}, weight", text, expected, line=line)


def _refuse_negative(layout: Layout, weights_mg: NDArray[np.int64], resolution_mg: float) -> None:
    """Refuses weights below zero, unless they go on from a zero as they do once the zero key was pressed."""
    is_negative = weights_mg < 0
    if not is_negative.any():
        return
    near_mg = max(_NEAR_ZERO_FRACTION * float(np.ptp(weights_mg)), 3 * resolution_mg)
    # Once a scale was at zero, whatever is taken off or lifts it shows as less.
    was_near_zero = np.minimum.accumulate(np.abs(weights_mg)) <= near_mg
    refused = np.flatnonzero(is_negative & ~was_near_zero)
    if len(refused):
        row = layout.rows[int(refused[0])]
        expected = "a weight of zero or more; only a scale that was zeroed with its load shows less"
        raise InvalidLog(f"line {row.line}, weight", row.cells[layout.weight], expected, line=row.line)
