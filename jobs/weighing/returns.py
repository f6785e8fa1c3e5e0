"""Tells a bump in the midst of a flow from a shifted tare: after a bump the reading goes on as if nothing had been."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.shifts import Shift
from jobs.weighing.sides import SIDE_READINGS, jump_across, side_of
from jobs.weighing.smoothing import Floats

# A knocked hose or a lifted load settles within that; common practice, no source.
_BUMP_S, _SETTLES_S = 20.0, 12.0
_NEXT_TO_S = 8.0
_FEWEST_DIVISIONS = 4.0
_SURE_SDS = 5.0
# What is left of a bump's jump where it has come back.
_MOST_LEFT = 0.3
# Many readings tell a rate better, few tell the rate next to the bump.
_SIDES = (SIDE_READINGS, 6)


@dataclass(frozen=True, eq=False)
class _Readings:
    """Readings without the bumps known so far; ``is_cut`` where a bump was left out after a reading, shape (n - 1,)."""

    times_s: Floats
    weights_mg: Floats
    is_cut: NDArray[np.bool_]
    interval_s: float
    division_mg: float


def came_back(
    times_s: Floats,
    weights_mg: Floats,
    is_cut: NDArray[np.bool_],
    shifts: list[Shift],
    division_mg: float,
) -> list[tuple[int, int]]:
    """Jumps after which the reading goes on where the flow before them would have brought it.

    Args:
        times_s: shape (n,), bumps known so far left out.
        weights_mg: shape (n,).
        is_cut: whether a bump was left out after a reading, shape (n - 1,).
        shifts: the jumps found in these readings.
        division_mg: of the scale.

    Returns:
        The readings between, as half-open ranges of indices.
    """
    interval_s = float(np.median(np.diff(times_s))) if len(times_s) > 1 else 1.0
    readings = _Readings(times_s, weights_mg, is_cut, interval_s, division_mg)
    found: list[tuple[int, int]] = []
    for number, shift in enumerate(shifts):
        if not shift.offset_mg or (found and shift.before < found[-1][1]):
            continue
        if span := _bump_from(readings, shifts, number):
            found.append(span)
    return found


def _bump_from(readings: _Readings, shifts: list[Shift], number: int) -> tuple[int, int] | None:
    """The shortest stretch, beginning with a jump or a bump right before it, after which the reading is back."""
    times_s, first = readings.times_s, shifts[number]
    earliest = shifts[number - 1].after if number else 0
    for last in range(number, len(shifts)):
        if times_s[shifts[last].after] - times_s[first.before] > _BUMP_S:
            break
        latest = shifts[last + 1].before if last + 1 < len(shifts) else len(times_s) - 1
        size_mg = max(abs(shift.offset_mg) for shift in shifts[number : last + 1])
        settled_s = times_s[shifts[last].after] + _SETTLES_S
        ends = range(shifts[last].after, min(latest, int(np.searchsorted(times_s, settled_s))) + 1)
        for end in ends:
            for start in _starts(readings, first.before, earliest):
                is_one_jump = last == number and (start, end) == (first.before, first.after)
                if not is_one_jump and _is_back(readings, (earliest, start, end, latest), size_mg):
                    return start + 1, end
    return None


def _starts(readings: _Readings, before: int, earliest: int) -> list[int]:
    """The reading before a jump, and the one before a bump that was left out right before it."""
    since = int(np.searchsorted(readings.times_s, readings.times_s[before] - _NEXT_TO_S))
    cuts = np.flatnonzero(readings.is_cut[max(since, earliest) : before]) + max(since, earliest)
    return [before, *([int(cuts[-1])] if len(cuts) else [])]


def _is_back(readings: _Readings, span: tuple[int, int, int, int], size_mg: float) -> bool:
    """Whether the readings after a stretch go on where those before it lead; by many of them, or by the nearest."""
    return any(_goes_on(readings, span, count, size_mg) for count in _SIDES)


def _goes_on(readings: _Readings, span: tuple[int, int, int, int], count: int, size_mg: float) -> bool:
    times_s, weights_mg = readings.times_s, readings.weights_mg
    earliest, start, end, latest = span
    took_s = float(times_s[end] - times_s[start])
    left = side_of(times_s, weights_mg, max(earliest, start - count + 1), start + 1, start)
    right = side_of(times_s, weights_mg, end, min(latest + 1, end + count), end)
    off_mg, doubt_mg = jump_across(left, right, took_s, readings.division_mg)
    # Slugs that passed meanwhile add up; where the flow changed, it may have done so at any time.
    unseen = max(took_s / readings.interval_s - 1, 0.0)
    doubt_mg = float(np.hypot(doubt_mg, np.sqrt(unseen * (left.walk_mg2 + right.walk_mg2) / 2)))
    turn_mg = abs(left.slope - right.slope) * took_s / 2
    most_mg = min(max(_FEWEST_DIVISIONS * readings.division_mg, _SURE_SDS * doubt_mg), _MOST_LEFT * size_mg)
    return abs(off_mg) + turn_mg <= most_mg
