"""Finds the still stretch at the beginning of readings; handed the readings backwards, the one at their end."""

from dataclasses import dataclass

import numpy as np

from jobs.weighing.smoothing import Floats, effective_count, robust_line, running_median

_FIRST_LOOK_S = 10.0
_STAYS_OUT_S = 20.0
_LEVEL_S = 150.0
_BAND_DIVISIONS, _BAND_SDS = 1.5, 4.0
_FEWEST_READINGS = 3


@dataclass(frozen=True)
class Stillness:
    """A still stretch at the beginning of readings.

    Args:
        end: index after its last reading; 0 where there is none.
        is_still: whether it is one; otherwise the level is that of the very first reading, by a line.
        level_mg: next to the flow.
        spread_mg: standard deviation of the readings about it.
        noise_mg: standard deviation of the level, by the spread.
        slope_mg_per_s: of the readings at the edge where it isn't still.
    """

    end: int
    is_still: bool
    level_mg: float
    spread_mg: float
    noise_mg: float
    slope_mg_per_s: float


def still_beginning(times_s: Floats, weights_mg: Floats, division_mg: float) -> Stillness:
    """Finds the still stretch with which readings begin.

    Args:
        times_s: rising from the edge inwards, shape (n,).
        weights_mg: without bumps and tare shifts, shape (n,).
        division_mg: of the scale.
    """
    smooth_mg = running_median(weights_mg, 5)
    looked_at = _within(times_s, _FIRST_LOOK_S, fewest=_FEWEST_READINGS)
    noise_mg = float(np.median(np.abs(np.diff(weights_mg)))) if len(weights_mg) > 1 else 0.0
    band_mg = max(_BAND_DIVISIONS * division_mg, min(_BAND_SDS * noise_mg, 4 * division_mg))
    level_mg = float(np.median(weights_mg[:looked_at]))
    end = 0
    for _ in range(2):
        end = _leaves(times_s, np.abs(smooth_mg - level_mg) > band_mg)
        if end < _FEWEST_READINGS:
            return _moving(times_s, weights_mg)
        level_mg = float(np.median(weights_mg[:end][times_s[:end] >= times_s[end - 1] - _LEVEL_S]))
    if end < len(weights_mg):
        close = np.flatnonzero(np.abs(smooth_mg[:end] - level_mg) <= division_mg / 2)
        end = int(close[-1]) + 1 if len(close) else end
    chosen = slice(max(0, int(np.searchsorted(times_s, times_s[end - 1] - _LEVEL_S))), end)
    if _is_drifting_away(times_s[:end], weights_mg[:end], division_mg):
        return _moving(times_s, weights_mg)
    kept_mg = weights_mg[chosen]
    spread_mg = float(kept_mg.std(ddof=1)) if len(kept_mg) > 1 else 0.0
    return Stillness(
        end=end,
        is_still=True,
        level_mg=float(kept_mg.mean()),
        spread_mg=spread_mg,
        noise_mg=spread_mg / float(np.sqrt(effective_count(kept_mg))),
        slope_mg_per_s=0.0,
    )


def _within(times_s: Floats, duration_s: float, fewest: int) -> int:
    return min(
        len(times_s), max(fewest, int(np.searchsorted(times_s, times_s[0] + duration_s, side="right")))
    )


def _leaves(times_s: Floats, is_outside: np.ndarray) -> int:
    """The first index from which readings stay outside for a while, or the number of readings."""
    for index in map(int, np.flatnonzero(is_outside)):
        last = int(np.searchsorted(times_s, times_s[index] + _STAYS_OUT_S, side="right"))
        if is_outside[index:last].mean() > 0.8:  # noqa: PLR2004 -- nearly all
            return index
    return len(times_s)


def _is_drifting_away(times_s: Floats, weights_mg: Floats, division_mg: float) -> bool:
    if len(times_s) < 4:  # noqa: PLR2004 -- a slope of three readings is noise
        return False
    near = times_s >= times_s[-1] - 60.0
    thinned = slice(None, None, max(1, int(near.sum()) // 40))
    line = robust_line(times_s[near][thinned], weights_mg[near][thinned])
    span_s = float(times_s[-1] - times_s[near][0])
    return abs(line.slope_mg_per_s) * span_s > max(division_mg, 2 * line.spread_mg)


def _moving(times_s: Floats, weights_mg: Floats) -> Stillness:
    looked_at = min(_within(times_s, _FIRST_LOOK_S, fewest=_FEWEST_READINGS), 25)
    line = robust_line(times_s[:looked_at], weights_mg[:looked_at])
    return Stillness(
        end=0,
        is_still=False,
        level_mg=line.at(float(times_s[0])),
        spread_mg=line.spread_mg,
        noise_mg=line.spread_mg,
        slope_mg_per_s=line.slope_mg_per_s,
    )
