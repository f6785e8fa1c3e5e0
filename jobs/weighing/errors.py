"""The errors of this package: a log that can't be used, and one about which somebody has to be asked."""

from collections.abc import Sequence
from typing import Any


class InvalidLog(Exception):
    """A log, or an answer about it, that can't be used, with what was expected instead.

    Args:
        field: what is wrong (``unit``, ``direction``, ``file``, ``line 7, weight``).
        value: what was given, as given.
        expected: what would have been right, in words that complete "expected …".
        line: the line of the file, counted from 1, where one line is to blame.
    """

    def __init__(self, field: str, value: Any, expected: str, *, line: int | None = None) -> None:
        super().__init__(field, value, expected)
        self.field = field
        self.value = value
        self.expected = expected
        self.line = line

    def __str__(self) -> str:
        return f"{self.field}: got {self.value!r}; expected {self.expected}."


class UnclearLog(InvalidLog):
    """A log whose unit or columns aren't clear: whoever has the log can say, and nothing is guessed.

    Args:
        field: what to ask for: ``unit``, ``time_column`` or ``weight_column``.
        value: what the file says about it, as far as it says anything.
        expected: what is to be answered.
        first_rows: up to twelve rows of the file, cell by cell, so that a form can show them.
    """

    def __init__(self, field: str, value: Any, expected: str, *, first_rows: Sequence[Sequence[str]]) -> None:
        super().__init__(field, value, expected)
        self.first_rows = [list(row) for row in first_rows]
