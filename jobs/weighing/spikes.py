"""Finds short bumps: readings that leave the trend for some seconds and come back to it."""

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.smoothing import (
    MAD_TO_SD,
    Floats,
    odd_window,
    regional,
    running_median,
    running_trend,
    strictness,
)

# A bump up to half as long as this is seen; common practice, no source: a knocked hose settles within seconds.
_WINDOW_S = 25.0
_WINDOW_READINGS = (7, 101)
_SEED_DIVISIONS, _SEED_SDS = 4.0, 6.0
_EDGE_DIVISIONS, _EDGE_SDS = 1.5, 3.0
_STEPS_ABOUT = 21
_ABOUT_WINDOWS = 4
# More readings than this of a knock in a fast flow may lie between those about them, too.
_ON_THE_WAY_READINGS = 2


def find_spikes(
    times_s: Floats, weights_mg: Floats, interval_s: float, division_mg: float
) -> NDArray[np.bool_]:
    """Which readings belong to a bump.

    Args:
        times_s: shape (n,).
        weights_mg: shape (n,).
        interval_s: the usual time between readings.
        division_mg: of the scale.

    Returns:
        A flag a reading, shape (n,).
    """
    window = odd_window(_WINDOW_S, interval_s, *_WINDOW_READINGS)
    is_spike = np.zeros(len(weights_mg), dtype=bool)
    # A large bump bends the trend about it; the second look is at a trend without it.
    for _ in range(2):
        rest = np.flatnonzero(~is_spike)
        found = _outliers(times_s[rest], weights_mg[rest], window, division_mg)
        if not found.any():
            break
        is_spike[rest[found]] = True
    return is_spike


def acquitted(
    times_s: Floats,
    weights_mg: Floats,
    is_spike: NDArray[np.bool_],
    interval_s: float,
    division_mg: float,
) -> NDArray[np.bool_]:
    """Which readings belong to a bump no more once the bumps about it are left out: a large one bends the trend.

    Args:
        times_s: shape (n,).
        weights_mg: shape (n,).
        is_spike: the readings of all bumps, shape (n,).
        interval_s: the usual time between readings.
        division_mg: of the scale.
    """
    window = odd_window(_WINDOW_S, interval_s, *_WINDOW_READINGS)
    stricter = strictness(int((~is_spike).sum()))
    is_free = np.zeros(len(is_spike), dtype=bool)
    for first, end in runs(is_spike):
        about = np.arange(
            max(0, first - _ABOUT_WINDOWS * window), min(len(is_spike), end + _ABOUT_WINDOWS * window)
        )
        is_own = (about >= first) & (about < end)
        judged = about[~is_spike[about] | is_own]
        found = _outliers(times_s[judged], weights_mg[judged], window, division_mg, stricter=stricter)
        is_free[first:end] = not found[(judged >= first) & (judged < end)].any()
    return is_free


def on_the_way(weights_mg: Floats, is_spike: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which readings taken for a bump lie between those about them: the middle of a short flow, no bump at all.

    Args:
        weights_mg: shape (n,).
        is_spike: the readings of all bumps, shape (n,).
    """
    is_free = np.zeros(len(is_spike), dtype=bool)
    for first, end in runs(is_spike):
        if not 0 < first < end < len(is_spike) or end - first > _ON_THE_WAY_READINGS:
            continue
        about = np.sort(weights_mg[[first - 1, end]])
        is_free[first:end] = ((about[0] <= weights_mg[first:end]) & (weights_mg[first:end] <= about[1])).all()
    return is_free


def _outliers(
    times_s: Floats, weights_mg: Floats, window: int, division_mg: float, *, stricter: float | None = None
) -> NDArray[np.bool_]:
    # The plain median bends about a jump on a slope, the other where a flow begins or ends; a bump leaves both.
    from_median_mg = np.abs(weights_mg - running_median(weights_mg, window))
    from_trend_mg = np.abs(weights_mg - running_trend(times_s, weights_mg, window))
    rest_mg = np.minimum(from_median_mg, from_trend_mg)
    # The nearer of two trends is nearer than noise is wide; there is no less of it than from reading to reading.
    noise_mg = MAD_TO_SD * np.maximum(_calm_about(rest_mg, window), _usual_step_mg(weights_mg) / sqrt(2))
    seed_sds = _SEED_SDS * (stricter or strictness(len(rest_mg)))
    is_seed = rest_mg > np.maximum(_SEED_DIVISIONS * division_mg, seed_sds * noise_mg)
    is_edge = rest_mg > np.maximum(_EDGE_DIVISIONS * division_mg, _EDGE_SDS * noise_mg)
    return _grown(is_seed, is_edge)


def _usual_step_mg(weights_mg: Floats) -> float:
    steps_mg = np.diff(weights_mg)
    return (
        float(np.median(np.abs(steps_mg - running_median(steps_mg, _STEPS_ABOUT)))) if len(steps_mg) else 0.0
    )


def _calm_about(rest_mg: Floats, window: int) -> Floats:
    """The usual distance from the trend, over stretches several times as long as a bump can be."""
    blocks = max(1, len(rest_mg) // window)
    medians = np.array([np.median(part) for part in np.array_split(rest_mg, blocks)])
    lengths = [len(part) for part in np.array_split(rest_mg, blocks)]
    return np.repeat(regional(running_median(medians, 5), 1), lengths)


def runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """The runs of true flags as half-open ranges of indices."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(first), int(end)) for first, end in edges.reshape(-1, 2)]


def _grown(is_seed: NDArray[np.bool_], is_edge: NDArray[np.bool_]) -> NDArray[np.bool_]:
    grown = np.zeros(len(is_seed), dtype=bool)
    for first, end in runs(is_edge):
        grown[first:end] = is_seed[first:end].any()
    return grown
