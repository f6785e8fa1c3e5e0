"""Finds a scale's division from what it showed."""

import numpy as np
from numpy.typing import NDArray

# With fewer levels than this the smallest step between them says little.
_FEWEST_LEVELS = 6


def division_of(weights_mg: NDArray[np.int64], resolution_mg: float) -> float:
    """The smallest step between levels that the scale showed, in milligrams; never less than its last digit.

    A log may show a scale's weight in another unit, with more digits than the scale has.
    """
    levels_mg = np.unique(weights_mg)
    if len(levels_mg) < _FEWEST_LEVELS:
        return resolution_mg
    return max(float(np.diff(levels_mg).min()), resolution_mg)
