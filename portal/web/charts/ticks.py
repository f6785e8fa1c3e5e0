"""Where the marks of an axis stand, and what they say: round figures, round times, round dates."""

import datetime
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

MINUTE, HOUR, DAY = 60, 3600, 86_400
ELAPSED_STEPS_S = (
    *(1, 2, 5, 10, 15, 30),
    *(MINUTE * count for count in (1, 2, 5, 10, 15, 30)),
    *(HOUR * count for count in (1, 2, 3, 6, 12, 24)),
)
DAY_STEPS = (1, 2, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120)
DAYS_A_MONTH = 30.4
MONTHS_A_YEAR = 12
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True)
class Tick:
    """One mark of an axis."""

    at: float
    label: str


class Axis(Protocol):
    """Knows the marks between two ends."""

    def ticks(self, low: float, high: float, count: int) -> list[Tick]:
        """About ``count`` marks from ``low`` to ``high``, both ends at most."""


def nice_step(span: float, count: int) -> float:
    """The step of 1, 2 or 5 times a power of ten that makes at most about ``count`` parts of ``span``.

    Example:
        >>> nice_step(47, 5)
        10.0
    """
    if span <= 0:
        return 1.0
    rough = span / max(1, count)
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))


@dataclass(frozen=True)
class NumberAxis:
    """Plain figures."""

    def ticks(self, low: float, high: float, count: int) -> list[Tick]:
        step = nice_step(high - low, count)
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        return [Tick(at, number_label(at, decimals)) for at in _multiples(low, high, step)]


@dataclass(frozen=True)
class ElapsedAxis:
    """Seconds since something began, shown as seconds, minutes or hours."""

    def ticks(self, low: float, high: float, count: int) -> list[Tick]:
        rough = (high - low) / max(1, count)
        step = next((step for step in ELAPSED_STEPS_S if step >= rough), None)
        if step is None:
            step = DAY * math.ceil(rough / DAY)
        return [Tick(at, elapsed_label(at, step)) for at in _multiples(low, high, step)]


@dataclass(frozen=True)
class DateAxis:
    """Days as ordinal numbers (``date.toordinal``), shown as dates."""

    def ticks(self, low: float, high: float, count: int) -> list[Tick]:
        rough = (high - low) / max(1, count)
        for step in DAY_STEPS:
            if step >= rough:
                dates = (datetime.date.fromordinal(int(at)) for at in _multiples(low, high, step))
                return [Tick(day.toordinal(), f"{day:%m-%d}") for day in dates]
        months = next((step for step in MONTH_STEPS if step * DAYS_A_MONTH >= rough), MONTH_STEPS[-1])
        form = "%Y" if months % MONTHS_A_YEAR == 0 else "%Y-%m"
        return [Tick(day.toordinal(), f"{day:{form}}") for day in _firsts(low, high, months)]


def number_label(value: float, decimals: int) -> str:
    """A figure with a real minus sign, and no sign on nothing."""
    text = f"{abs(value):,.{decimals}f}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    return text if value >= 0 or not text.strip("0.") else f"{MINUS}{text}"


def elapsed_label(seconds: float, step: float) -> str:
    """A time in the unit that its step asks for.

    Example:
        >>> elapsed_label(5400, 1800)
        '1:30 h'
        >>> elapsed_label(600, 300)
        '10 min'
    """
    whole = round(seconds)
    if whole == 0:
        return "0"
    if step < MINUTE:
        minutes, rest = divmod(whole, MINUTE)
        return f"{minutes}:{rest:02d} min" if minutes else f"{rest} s"
    minutes = whole // MINUTE
    if whole < HOUR or (step < HOUR and step * 4 < HOUR and whole < 2 * HOUR):
        return f"{minutes} min"
    hours, rest = divmod(minutes, MINUTE)
    return f"{hours}:{rest:02d} h" if rest or step < HOUR else f"{hours} h"


def _multiples(low: float, high: float, step: float) -> Iterator[float]:
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return (multiple * step for multiple in range(first, last + 1))


def _firsts(low: float, high: float, months: int) -> Iterator[datetime.date]:
    """The first days of every so many months, counted from January of year 1."""
    start = datetime.date.fromordinal(max(1, math.floor(low)))
    index = math.ceil((start.year * MONTHS_A_YEAR + start.month - 1) / months) * months
    while True:
        day = datetime.date(index // MONTHS_A_YEAR, index % MONTHS_A_YEAR + 1, 1)
        if day.toordinal() > high:
            return
        if day.toordinal() >= low:
            yield day
        index += months
