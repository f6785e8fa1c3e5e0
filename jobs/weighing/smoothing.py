"""Arithmetic on runs of readings that a few bad ones can't pull away: medians, lines, noise."""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Turns the median of absolute deviations into a standard deviation, for a normal distribution.
MAD_TO_SD = 1.4826
# A log as long as this is what the thresholds of single readings were set for: ten minutes, a reading a second.
_USUAL_READINGS = 600
# At most one log in a hundred may hold a reading that noise alone puts beyond a threshold; our choice.
_FALSE_ALARMS = 0.01
# The spread of a few readings may come out far too small by chance; it is held against that of so many times as many.
_REGION_TIMES = 9
_LEAST_OF_REGION = 0.85
# The median of one or two values takes nothing out.
_FEWEST_OF_A_MEDIAN = 3


@dataclass(frozen=True)
class Line:
    """A straight line through readings, and the standard deviation about it."""

    at_s: float
    level_mg: float
    slope_mg_per_s: float
    spread_mg: float

    def at(self, time_s: float) -> float:
        """The level in milligrams at a time."""
        return self.level_mg + self.slope_mg_per_s * (time_s - self.at_s)


def robust_line(times_s: Floats, weights_mg: Floats) -> Line:
    """A line by the median of the slopes between all pairs of readings (Theil's estimator); few readings only.

    One reading, or several of one time, give a level line.
    """
    centre_s = float(np.median(times_s))
    first, second = np.triu_indices(len(times_s), 1)
    apart_s = times_s[second] - times_s[first]
    is_apart = apart_s > 0
    slopes = (weights_mg[second] - weights_mg[first])[is_apart] / apart_s[is_apart]
    slope = float(np.median(slopes)) if len(slopes) else 0.0
    rest_mg = weights_mg - slope * (times_s - centre_s)
    level_mg = float(np.median(rest_mg))
    return Line(centre_s, level_mg, slope, MAD_TO_SD * float(np.median(np.abs(rest_mg - level_mg))))


def running_median(values: Floats, window: int) -> Floats:
    """The median over ``window`` (odd) values about each. A rise or fall passes unchanged, however steep or bent.

    Beyond both ends the values are taken to go on as they begin and end.
    """
    window = min(window, len(values) - 1 + len(values) % 2)
    if window < _FEWEST_OF_A_MEDIAN:
        return values.copy()
    windows = np.lib.stride_tricks.sliding_window_view(_extended(values, window), window)
    return np.partition(windows, window // 2, axis=1)[:, window // 2]


def running_trend(times_s: Floats, values: Floats, window: int) -> Floats:
    """The median over ``window`` (odd) values about each, after the usual slope among them is taken out.

    So a few bad values can't pull it along a slope, and a jump on a slope stays a jump.
    """
    window = min(window, len(values) - 1 + len(values) % 2)
    if window < _FEWEST_OF_A_MEDIAN:
        return values.copy()
    steps_s = np.diff(times_s)
    slopes = np.where(steps_s > 0, np.diff(values) / np.where(steps_s > 0, steps_s, 1.0), 0.0)
    slope = running_median(np.append(slopes, slopes[-1]), window)
    view = np.lib.stride_tricks.sliding_window_view
    apart_s = view(_extended(times_s, window), window) - times_s[:, None]
    level = view(_extended(values, window), window) - slope[:, None] * apart_s
    return np.partition(level, window // 2, axis=1)[:, window // 2]


def _extended(values: Floats, window: int) -> Floats:
    """The values with half a window before and after them, going on as they begin and end."""
    steps = np.arange(window, dtype=np.float64)
    head, tail = robust_line(steps, values[:window]), robust_line(steps, values[::-1][:window])
    half = window // 2
    before = [head.at(-step) for step in range(half, 0, -1)]
    return np.concatenate([before, values, [tail.at(-step) for step in range(1, half + 1)]])


def odd_window(duration_s: float, interval_s: float, fewest: int, most: int) -> int:
    """How many readings, an odd number, span a duration."""
    return int(np.clip(round(duration_s / interval_s), fewest, most)) | 1


def effective_count(rest_mg: Floats) -> float:
    """How many independent readings correlated ones are worth, from their first autocorrelation; at least 1."""
    centred = rest_mg - rest_mg.mean()
    variance = float(centred @ centred)
    if len(centred) < 3 or variance == 0:  # noqa: PLR2004 -- no correlation of two
        return 1.0
    correlation = float(np.clip(centred[:-1] @ centred[1:] / variance, 0, 0.99))
    return max(1.0, len(centred) * (1 - correlation) / (1 + correlation))


def strictness(readings: int) -> float:
    """By how much a threshold of one reading grows with the number of readings that are held against it; at least 1.

    The more readings, the farther out the farthest lies by chance. Two-sided, for normal noise, after Bonferroni.

    Example:
        >>> round(strictness(172_800), 2)
        1.26
    """
    usual, stated = (
        NormalDist().inv_cdf(1 - _FALSE_ALARMS / (2 * count)) for count in (_USUAL_READINGS, max(readings, 1))
    )
    return max(1.0, stated / usual)


def regional(spreads: Floats, window: int) -> Floats:
    """Spreads of a few readings each, none much below what is usual about it.

    Args:
        spreads: of ``window`` readings each, one for each reading or each block of readings, shape (n,).
        window: how many neighbours of ``spreads`` share their readings with each; 1 for blocks.
    """
    wide = running_median(spreads[::window], 4 * _REGION_TIMES + 1)
    return np.maximum(spreads, _LEAST_OF_REGION * np.repeat(wide, window)[: len(spreads)])
