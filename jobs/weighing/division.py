"""Finds a scale's division from what it showed."""

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.masses import MG_PER_UNIT

# With fewer levels than this the steps between them say little.
_FEWEST_LEVELS = 6
# Unless they are round in another unit, and so many times the last digit: that is no chance.
_FEWEST_ROUND_LEVELS, _SURELY_FINER = 3, 20
# Divisions are 1, 2 or 5 times a power of ten of a unit (NIST Handbook 44, scales code, from memory).
_INTERVALS = (1, 2, 5)
_POWERS = range(-4, 2)


def division_of(weights_mg: NDArray[np.int64], resolution_mg: float) -> float:
    """The scale's division in milligrams, never less than the last digit that its log shows.

    A scale may always show multiples of some digits; or a logger may write the scale's weight in another unit, with
    more digits than the scale has: then the levels lie one division of that other unit apart, roundly.
    """
    levels = np.unique(np.rint(weights_mg / resolution_mg).astype(np.int64))
    if len(levels) < _FEWEST_ROUND_LEVELS:
        return resolution_mg
    steps = np.diff(levels)
    common = int(np.gcd.reduce(steps))
    has_few = len(levels) < _FEWEST_LEVELS
    if common > 1 and not has_few:
        return common * resolution_mg
    smallest_mg = float(steps.min()) * resolution_mg
    others_mg = [
        float(unit_mg) * interval * 10.0**power
        for unit_mg in MG_PER_UNIT.values()
        for interval in _INTERVALS
        for power in _POWERS
    ]
    return max(
        (
            other_mg
            for other_mg in others_mg
            if other_mg > (_SURELY_FINER if has_few else 2) * resolution_mg
            and abs(other_mg - smallest_mg) <= resolution_mg
            and _fits(weights_mg, other_mg, resolution_mg)
        ),
        default=resolution_mg,
    )


def _fits(weights_mg: NDArray[np.int64], division_mg: float, resolution_mg: float) -> bool:
    """Whether levels written with finer digits are multiples of a division, but for the rounding of the writing."""
    rest_mg = np.unique(weights_mg - weights_mg[0]) % division_mg
    return bool((np.minimum(rest_mg, division_mg - rest_mg) <= 1.01 * resolution_mg).all())
