"""Small strict readers of parsed JSON values; each names the path of what it refuses."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from compliance.rulebook.dates import parse_date
from compliance.rulebook.errors import InvalidInput

_LONGEST_TEXT = 500


def check_keys(document: Any, field: str, *, required: Sequence[str], optional: Sequence[str] = ()) -> None:
    """Refuses anything but an object with all required keys and no unknown one."""
    if not isinstance(document, Mapping):
        raise InvalidInput(field or "document", document, "an object")
    known = (*required, *optional)
    for key, value in document.items():
        if key not in known:
            raise InvalidInput(_path(field, key), value, "no such key here; known are " + ", ".join(known))
    for key in required:
        if key not in document:
            raise InvalidInput(_path(field, key), None, "a value; it is missing")


def array(value: Any, field: str) -> list[Any]:
    """Refuses anything but a JSON array."""
    if not isinstance(value, list):
        raise InvalidInput(field, value, "an array")
    return value


def boolean(value: Any, field: str) -> bool:
    """Refuses anything but true and false; 0 and 1 too."""
    if not isinstance(value, bool):
        raise InvalidInput(field, value, "true or false")
    return value


def text(value: Any, field: str) -> str:
    """Refuses anything but text with a visible character; half of a surrogate pair too, as UTF-8 can't write it."""
    if not isinstance(value, str) or not value.strip() or len(value) > _LONGEST_TEXT:
        raise InvalidInput(field, value, f"text of 1 to {_LONGEST_TEXT} characters")
    if any("\ud800" <= character <= "\udfff" for character in value):
        raise InvalidInput(field, value, "text that can be written in UTF-8")
    return value


def day(value: Any, field: str) -> date:
    """Refuses anything but a date written ``YYYY-MM-DD``."""
    return parse_date(value, field)


def one_of(value: Any, field: str, choices: Sequence[str]) -> str:
    """Refuses anything but one of the choices, spelled as they are."""
    if not isinstance(value, str) or value not in choices:
        raise InvalidInput(field, value, "one of " + ", ".join(choices))
    return value


def whole_number(value: Any, field: str, *, lowest: int, highest: int) -> int:
    """Refuses anything but a whole number between the two, both included."""
    if isinstance(value, bool) or not isinstance(value, int) or not lowest <= value <= highest:
        raise InvalidInput(field, value, f"a whole number from {lowest} to {highest}")
    return value


def _path(field: str, key: str) -> str:
    return f"{field}.{key}" if field else str(key)
