"""The times of a log: ISO 8601, HH:MM:SS or elapsed seconds, as seconds since the first reading."""

import re
from collections.abc import Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.errors import InvalidLog
from jobs.weighing.log import TimeKind

DAY_S = 86_400.0
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d):([0-5]\d(?:[.,]\d{1,9})?)", re.ASCII)
_INSTANT = re.compile(r"\d{4}-?\d\d-?\d\d[T ]\d", re.ASCII | re.IGNORECASE)
_ELAPSED = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?", re.ASCII)
# More rows out of order than this aren't a clock that was put right.
_MOST_STEPS_BACK = 5
_MOST_STEPS_BACK_FRACTION = 0.01

EXPECTED = {
    "instant": "a time such as 2026-05-04T09:30:00",
    "clock": "a time such as 09:30:00",
    "elapsed": "seconds, such as 12.5",
}


def time_kind(text: str) -> TimeKind | None:
    """What kind of time a cell is, if it is one."""
    if _CLOCK.fullmatch(text):
        return "clock"
    if _INSTANT.match(text):
        return "instant"
    return "elapsed" if _ELAPSED.fullmatch(text.replace(",", ".")) else None


def parse_times_s(
    texts: Sequence[str], lines: Sequence[int], kind: TimeKind, seconds_per_unit: float
) -> NDArray[np.float64]:
    """Reads a column of times as seconds on the log's own clock.

    Args:
        texts: the cells.
        lines: their lines, for errors.
        kind: of all of them.
        seconds_per_unit: of elapsed times, 1 for seconds.

    Raises:
        InvalidLog: a cell that is no such time, or times with and without a zone.
    """
    read = {"instant": _instant_s, "clock": _clock_s, "elapsed": _elapsed_s}[kind]
    times_s = np.empty(len(texts))
    is_first_zoned = kind == "instant" and _is_zoned(texts[0])
    for index, text in enumerate(texts):
        try:
            times_s[index], is_zoned = read(text)
        except ValueError:
            raise InvalidLog(f"line {lines[index]}, time", text, EXPECTED[kind], line=lines[index]) from None
        if is_zoned is not is_first_zoned:
            expected = (
                "a time with its zone, as on the lines before" if is_first_zoned else "a time without a zone"
            )
            raise InvalidLog(f"line {lines[index]}, time", text, expected, line=lines[index])
    return times_s * seconds_per_unit


def unroll_s(clock_s: NDArray[np.float64], kind: TimeKind) -> tuple[NDArray[np.float64], tuple[int, ...]]:
    """Turns the clock's times into seconds since the first reading that never fall.

    A time of day that falls by more than half a day has passed midnight. Any other fall is a clock that was put
    back; the time that passed meanwhile isn't known, and is taken to be the usual time between two readings.

    Returns:
        The seconds, and the indices of the readings before which the clock was put back.

    Raises:
        InvalidLog: rows out of order, or no time passes at all.
    """
    steps_s = np.diff(clock_s)
    if kind == "clock" and clock_s.max() < DAY_S:
        steps_s = np.where(steps_s < -DAY_S / 2, steps_s + DAY_S, steps_s)
    went_back = np.flatnonzero(steps_s < 0)
    if len(went_back) > max(_MOST_STEPS_BACK, _MOST_STEPS_BACK_FRACTION * len(steps_s)):
        raise InvalidLog(
            "time_column", f"{len(went_back)} times earlier than the row above", "rows in order of time"
        )
    forward_s = steps_s[steps_s > 0]
    if not len(forward_s):
        raise InvalidLog("time_column", "the same time on each row", "times that go on from row to row")
    steps_s[went_back] = np.median(forward_s)
    return np.concatenate([[0.0], np.cumsum(steps_s)]), tuple(int(index) + 1 for index in went_back)


def _instant_s(text: str) -> tuple[float, bool]:
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is not None:
        return instant.timestamp(), True
    # Without a zone each day has 24 hours here; a change to or from summer time shows as a jump.
    return (
        instant.toordinal() * DAY_S
        + instant.hour * 3600.0
        + instant.minute * 60.0
        + instant.second
        + instant.microsecond / 1e6
    ), False


def _is_zoned(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def _clock_s(text: str) -> tuple[float, bool]:
    match = _CLOCK.fullmatch(text)
    if not match:
        raise ValueError(text)
    return int(match[1]) * 3600.0 + int(match[2]) * 60.0 + float(match[3].replace(",", ".")), False


def _elapsed_s(text: str) -> tuple[float, bool]:
    text = text.replace(",", ".")
    if not _ELAPSED.fullmatch(text):
        raise ValueError(text)
    return float(text), False
