"""How long an answer holds: the day asked about notes when something decided by it will first come out otherwise.

An assessment reads no clock but that day, and decides by comparing it with other days. As long as each of those
comparisons comes out the same, the assessment takes the same course, and so its answer is the same.
"""

from datetime import date
from typing import Any

from compliance.rulebook.dates import LATEST_ON


class AskedDay(date):
    """The day asked about: a date that keeps until when all that was decided by it stays decided so.

    A comparison keeps the last day on which it comes out the same, the year its last day. Whatever else is done with
    the date (written, counted with, looked up) counts as another one on the morrow: too early perhaps, never too late.

    Example:
        >>> asked = AskedDay.of(date(2026, 3, 2))
        >>> asked <= date(2026, 4, 1), asked.holds_until
        (True, datetime.date(2026, 4, 1))
    """

    _own: int
    _until: int

    @classmethod
    def of(cls, on: date) -> "AskedDay":
        """The day, as yet compared with nothing."""
        asked = cls(on.year, on.month, on.day)
        asked._own, asked._until = on.toordinal(), max(on, LATEST_ON).toordinal()
        return asked

    @property
    def holds_until(self) -> date:
        """The last day, from this one on, on which all that was asked of it so far has the same answer."""
        return date.fromordinal(self._until)

    @property
    def unwatched(self) -> date:
        """The same day, for reckoning what is not kept, such as the headroom."""
        return date.fromordinal(self._own)

    def _hold(self, until: int) -> None:
        """Keeps a day after which something changes; what lies before this day has changed already."""
        if self._own <= until < self._until:
            self._until = until

    def __lt__(self, other: date) -> bool:
        self._hold(date.toordinal(other) - 1)
        return date.__lt__(self, other)

    def __le__(self, other: date) -> bool:
        self._hold(date.toordinal(other))
        return date.__le__(self, other)

    def __gt__(self, other: date) -> bool:
        self._hold(date.toordinal(other))
        return date.__gt__(self, other)

    def __ge__(self, other: date) -> bool:
        self._hold(date.toordinal(other) - 1)
        return date.__ge__(self, other)

    def __eq__(self, other: object) -> bool:
        is_equal = date.__eq__(self, other) is True
        if isinstance(other, date):
            self._hold(date.toordinal(other) - (not is_equal))
        return is_equal

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        self._hold(self._own)
        return date.__hash__(self)

    @property
    def year(self) -> int:
        """The year, which stays the same up to its last day."""
        year = self.unwatched.year
        self._hold(date(year, 12, 31).toordinal())
        return year

    @property
    def month(self) -> int:
        """The month; counts as another one on the morrow."""
        self._hold(self._own)
        return self.unwatched.month

    @property
    def day(self) -> int:
        """The day of the month, another one on the morrow."""
        self._hold(self._own)
        return self.unwatched.day


_OTHERWISE_ON_THE_MORROW = (
    *("__add__", "__radd__", "__sub__", "__rsub__", "__str__", "__repr__", "__format__"),
    *("toordinal", "isoformat", "weekday", "isoweekday", "isocalendar", "timetuple", "ctime", "strftime"),
    *("replace", "__reduce__"),
)


def _held_for_the_day(name: str) -> Any:
    """A method of the plain date, which first notes that it gives something else on the next day."""

    def held(self: AskedDay, *arguments: Any, **options: Any) -> Any:
        self._hold(self._own)
        return getattr(self.unwatched, name)(*arguments, **options)

    return held


for _name in _OTHERWISE_ON_THE_MORROW:
    setattr(AskedDay, _name, _held_for_the_day(_name))
