"""A log's curve, thinned for drawing so that nothing a person should see is lost."""

import itertools

import numpy as np

from jobs.weighing.log import WeighLog
from jobs.weighing.results import Curve, Weighing
from jobs.weighing.smoothing import Floats, odd_window, running_median

_RATE_OVER_S = 20.0
_KG_PER_MIN = 60 / 1e6


def curve(log: WeighLog, result: Weighing, points: int = 600) -> Curve:
    """Thins a log to at most ``points`` points: of each stretch its lowest and its highest reading.

    Args:
        log: as read.
        result: its weighing.
        points: at most as many, at least four.
    """
    corrected_mg = log.weights_mg.astype(np.float64)
    for anomaly in result.anomalies:
        corrected_mg[log.times_s >= anomaly.to_s] -= anomaly.removed_mg
    rate = _rate_kg_per_min(log.times_s, corrected_mg)
    chosen = _lowest_and_highest(log.times_s, log.weights_mg.astype(np.float64), points)
    return Curve(
        times_s=tuple(log.times_s[chosen].tolist()),
        weights_mg=tuple(log.weights_mg[chosen].tolist()),
        corrected_mg=tuple(np.rint(corrected_mg[chosen]).astype(int).tolist()),
        rate_kg_per_min=tuple(rate[chosen].tolist()),
    )


def _rate_kg_per_min(times_s: Floats, weights_mg: Floats) -> Floats:
    steps_s = np.diff(times_s)
    interval_s = float(np.median(steps_s[steps_s > 0]))
    smooth_mg = running_median(weights_mg, odd_window(_RATE_OVER_S, interval_s, 3, 61))
    earlier = np.searchsorted(times_s, times_s - _RATE_OVER_S / 2)
    later = np.searchsorted(times_s, times_s + _RATE_OVER_S / 2, side="right") - 1
    # A lone reading among gaps still needs two readings for a rate.
    earlier, later = (
        np.minimum(earlier, np.maximum(later - 1, 0)),
        np.maximum(later, np.minimum(earlier + 1, len(times_s) - 1)),
    )
    span_s = times_s[later] - times_s[earlier]
    return (
        np.where(span_s > 0, (smooth_mg[later] - smooth_mg[earlier]) / np.maximum(span_s, 1e-9), 0.0)
        * _KG_PER_MIN
    )


def _lowest_and_highest(times_s: Floats, weights_mg: Floats, points: int) -> np.ndarray:
    count = len(times_s)
    if count <= points:
        return np.arange(count)
    bounds = np.unique(np.linspace(0, count, max(1, (points - 2) // 2) + 1).astype(int))
    chosen = {0, count - 1}
    for first, end in itertools.pairwise(bounds):
        part = weights_mg[first:end]
        chosen.update((int(first + part.argmin()), int(first + part.argmax())))
    return np.array(sorted(chosen))
