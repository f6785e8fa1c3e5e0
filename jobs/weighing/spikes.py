"""Finds short bumps: readings that leave the trend for some seconds and come back to it."""

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.smoothing import MAD_TO_SD, Floats, odd_window, running_median

# A bump up to half as long as this is seen; common practice, no source: a knocked hose settles within seconds.
_WINDOW_S = 25.0
_WINDOW_READINGS = (7, 101)
_SEED_DIVISIONS, _SEED_SDS = 4.0, 6.0
_EDGE_DIVISIONS, _EDGE_SDS = 1.5, 3.0


def find_spikes(weights_mg: Floats, interval_s: float, division_mg: float) -> NDArray[np.bool_]:
    """Which readings belong to a bump.

    Args:
        weights_mg: shape (n,).
        interval_s: the usual time between readings.
        division_mg: of the scale.

    Returns:
        A flag a reading, shape (n,).
    """
    window = odd_window(_WINDOW_S, interval_s, *_WINDOW_READINGS)
    rest_mg = np.abs(weights_mg - running_median(weights_mg, window))
    noise_mg = MAD_TO_SD * running_median(rest_mg, window)
    is_seed = rest_mg > np.maximum(_SEED_DIVISIONS * division_mg, _SEED_SDS * noise_mg)
    is_edge = rest_mg > np.maximum(_EDGE_DIVISIONS * division_mg, _EDGE_SDS * noise_mg)
    return _grown(is_seed, is_edge)


def runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """The runs of true flags as half-open ranges of indices."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(first), int(end)) for first, end in edges.reshape(-1, 2)]


def _grown(is_seed: NDArray[np.bool_], is_edge: NDArray[np.bool_]) -> NDArray[np.bool_]:
    grown = np.zeros(len(is_seed), dtype=bool)
    for first, end in runs(is_edge):
        grown[first:end] = is_seed[first:end].any()
    return grown
