"""Finds the part of a long log that matters: its flow and what is near it. The scale drifts in hours far away."""

import numpy as np

from jobs.weighing.cleaning import CleanedLog
from jobs.weighing.smoothing import MAD_TO_SD, Floats

# Long enough to find a level, short enough for a scale to keep it; our choice.
_NEAR_S = 20 * 60.0
_BLOCK_S, _BLOCKS_APART = 120.0, 5
# As fast no scale drifts in ten minutes; common practice, no source.
_FLOW_DIVISIONS, _FLOW_SDS = 3.0, 12.0
# The median of many normal readings scatters by so much more than their mean.
_MEDIAN_TO_MEAN = 1.2533


def near_flow(cleaned: CleanedLog, division_mg: float) -> slice:
    """The readings from twenty minutes before the first flow to twenty minutes after the last.

    Args:
        cleaned: without bumps and tare shifts.
        division_mg: of the scale.

    Returns:
        A range of its readings; all of them where the log is short, or nothing flowed faster than a scale drifts.
    """
    times_s, whole = cleaned.times_s, slice(0, len(cleaned.times_s))
    if times_s[-1] - times_s[0] < 2 * _NEAR_S:
        return whole
    starts_s, levels_mg = _blocks(times_s, cleaned.weights_mg)
    if len(levels_mg) <= _BLOCKS_APART:
        return whole
    readings = max(1.0, len(times_s) / len(levels_mg))
    step_mg = MAD_TO_SD * float(np.median(np.abs(np.diff(cleaned.weights_mg))))
    noise_mg = _MEDIAN_TO_MEAN * step_mg / np.sqrt(2 * readings)
    changes_mg = np.abs(levels_mg[_BLOCKS_APART:] - levels_mg[:-_BLOCKS_APART])
    flowing = np.flatnonzero(changes_mg > max(_FLOW_DIVISIONS * division_mg, _FLOW_SDS * noise_mg))
    if not len(flowing):
        return whole
    from_s = starts_s[flowing[0]] - _NEAR_S
    to_s = starts_s[flowing[-1] + _BLOCKS_APART] + _BLOCK_S + _NEAR_S
    return slice(int(np.searchsorted(times_s, from_s)), int(np.searchsorted(times_s, to_s, side="right")))


def _blocks(times_s: Floats, weights_mg: Floats) -> tuple[Floats, Floats]:
    """The times at which stretches of two minutes begin, those without a reading left out, and their medians."""
    numbers = ((times_s - times_s[0]) // _BLOCK_S).astype(int)
    firsts = np.flatnonzero(np.diff(numbers, prepend=-1))
    medians_mg = np.array([np.median(part) for part in np.split(weights_mg, firsts[1:])])
    return times_s[firsts], medians_mg
