"""Pounds in one column and the ounces beyond them in the next: one weight, written in two cells."""

import re
from collections.abc import Sequence

from jobs.weighing.masses import units_in
from jobs.weighing.table import Row

_WHOLE = re.compile(r"([+-]?\d+)(?:[.,]0*)?", re.ASCII)
_OUNCES = re.compile(r"\d+(?:[.,]\d*)?|[.,]\d+", re.ASCII)
_OUNCES_PER_POUND = 16


def paired_ounces(rows: Sequence[Row], names: Sequence[str], kinds: Sequence[str]) -> dict[int, int]:
    """Finds columns of pounds that the next column completes.

    The headers say pounds and ounces, the pounds are whole and no ounces reach a pound. A scale's weight written
    twice, once in each unit, has pounds with decimals, or ounces that go beyond sixteen.

    Args:
        rows: with the readings.
        names: of the columns, by the header.
        kinds: what the cells of each column are.

    Returns:
        The column of ounces by the column of pounds.
    """
    return {
        pounds: pounds + 1
        for pounds in range(len(names) - 1)
        if units_in(names[pounds]) == ["lb"]
        and units_in(names[pounds + 1]) == ["oz"]
        and kinds[pounds] == kinds[pounds + 1] == "number"
        and _completes(rows, pounds, pounds + 1)
    }


def joined(pounds: str, ounces: str) -> str:
    """Both cells as one text, as a scale with one column would have it.

    Example:
        >>> joined("3.0", "4.5")
        '3 lb 4.5 oz'
    """
    whole = _WHOLE.fullmatch(pounds.replace("\N{MINUS SIGN}", "-"))
    return f"{whole[1] if whole else pounds} lb {ounces} oz"


def _completes(rows: Sequence[Row], pounds: int, ounces: int) -> bool:
    """Whether no cells say otherwise; a cell that is no number at all is named when it is read."""
    for row in rows:
        whole, rest = (
            row.cells[column].replace("\N{MINUS SIGN}", "-") if column < len(row.cells) else ""
            for column in (pounds, ounces)
        )
        if _is_number(whole) and not _WHOLE.fullmatch(whole):
            return False
        if _is_number(rest) and not (
            _OUNCES.fullmatch(rest) and float(rest.replace(",", ".")) < _OUNCES_PER_POUND
        ):
            return False
    return True


def _is_number(cell: str) -> bool:
    try:
        float(cell.replace(",", "."))
    except ValueError:
        return False
    return cell.lower().lstrip("+-")[:1] not in ("n", "i")
