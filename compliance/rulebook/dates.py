"""Calendar arithmetic of legal deadlines: calendar days, and months and years that clamp to the month's end."""

import re
from calendar import monthrange
from datetime import date, timedelta
from typing import Any

from compliance.rulebook.errors import InvalidInput

EARLIEST_ON = date(1900, 1, 1)
LATEST_ON = date(2199, 12, 31)

_IN_EVERY_MONTH = 28

_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def parse_date(value: Any, field: str) -> date:
    """Reads ``YYYY-MM-DD``; any other spelling, and any date outside 1900 to 2199, is refused.

    Raises:
        InvalidInput: naming the field.
    """
    expected = f"a date written YYYY-MM-DD, from {EARLIEST_ON} to {LATEST_ON}"
    if not isinstance(value, str) or not _ISO_DATE.fullmatch(value):
        raise InvalidInput(field, value, expected)
    try:
        parsed = date.fromisoformat(value)
    except ValueError:
        raise InvalidInput(field, value, expected) from None
    if not EARLIEST_ON <= parsed <= LATEST_ON:
        raise InvalidInput(field, value, expected)
    return parsed


def add_days(on: date, days: int) -> date:
    """The calendar day so many days later; never moved for weekends or holidays."""
    return on + timedelta(days=days)


def add_months(on: date, months: int) -> date:
    """The same day of the month so many months later, or the month's last day if it has no such day.

    Example:
        >>> add_months(date(2026, 11, 30), 3)
        datetime.date(2027, 2, 28)
    """
    month_index = on.year * 12 + on.month - 1 + months
    year, month = divmod(month_index, 12)
    day = on.day
    return date(year, month + 1, day if day <= _IN_EVERY_MONTH else min(day, monthrange(year, month + 1)[1]))


def add_years(on: date, years: int) -> date:
    """The same date so many years later; 29 February becomes 28 February in a common year."""
    return add_months(on, 12 * years)
