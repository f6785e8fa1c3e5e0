"""The one error of this package: a value that can't be used."""

from typing import Any


class InvalidInput(Exception):
    """A value that can't be used, with the field it stood in and what was expected there.

    Args:
        field: the name of the argument or option (``refrigerant``, ``temperature``).
        value: what was given, as given.
        expected: what would have been right, in words that complete "expected …".
    """

    def __init__(self, field: str, value: Any, expected: str) -> None:
        super().__init__(field, value, expected)
        self.field = field
        self.value = value
        self.expected = expected

    def __str__(self) -> str:
        return f"{self.field}: got {self.value!r}; expected {self.expected}."
