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
    if not isinstance(value, list):
        raise InvalidInput(field, value, "an array")
    return value


def boolean(value: Any, field: str) -> bool:
    if not isinstance(value, bool):
        raise InvalidInput(field, value, "true or false")
    return value


def text(value: Any, field: str) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > _LONGEST_TEXT:
        raise InvalidInput(field, value, f"text of 1 to {_LONGEST_TEXT} characters")
    return value


def day(value: Any, field: str) -> date:
    return parse_date(value, field)


def one_of(value: Any, field: str, choices: Sequence[str]) -> str:
    if not isinstance(value, str) or value not in choices:
        raise InvalidInput(field, value, "one of " + ", ".join(choices))
    return value


def whole_number(value: Any, field: str, *, lowest: int, highest: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not lowest <= value <= highest:
        raise InvalidInput(field, value, f"a whole number from {lowest} to {highest}")
    return value


def _path(field: str, key: str) -> str:
    return f"{field}.{key}" if field else str(key)
