"""Finds the still stretch at the beginning of readings; handed the readings backwards, the one at their end."""

from dataclasses import dataclass, replace

import numpy as np

from jobs.weighing.smoothing import Floats, effective_count, robust_line, running_median

_FIRST_LOOK_S = 10.0
_STAYS_OUT_S = 20.0
_EDGE_S = 60.0
_LEVEL_S = 150.0
_TAIL_S = 15.0
_TAIL_DIVISIONS = 0.35
_BAND_DIVISIONS, _BAND_SDS = 1.5, 4.0
_FEWEST_READINGS = 3
_SMOOTHED_READINGS, _SMOOTHED_MOST, _FEWEST_OF_NOISE = 5, 41, 20
# Whatever moves a division a minute leaves a band of some divisions earlier than this.
_SURELY_STILL_S = 600.0
# A shorter stretch may be the slow first part of a flow.
_SHORT_S, _FEW_READINGS = 20.0, 6
_FOLLOWING_READINGS, _HIDDEN_DIVISIONS = 15, 6.0


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
    looked_at = _within(times_s, _FIRST_LOOK_S, fewest=_FEWEST_READINGS)
    noise_mg = float(np.median(np.abs(np.diff(weights_mg)))) if len(weights_mg) > 1 else 0.0
    smooth_mg = running_median(weights_mg, _smoothing(times_s, weights_mg, noise_mg / division_mg))
    band_mg = max(_BAND_DIVISIONS * division_mg, min(_BAND_SDS * noise_mg, 4 * division_mg))
    level_mg = float(np.median(weights_mg[:looked_at]))
    end = _leaves(times_s, np.abs(smooth_mg - level_mg) > band_mg)
    if end >= _FEWEST_READINGS:
        # The first look may have met a gust; the edge's own minute is surer, and no slow flow can lead it astray.
        level_mg = float(np.median(weights_mg[:end][times_s[:end] <= times_s[0] + _EDGE_S]))
        end = _leaves(times_s, np.abs(smooth_mg - level_mg) > band_mg)
    if end < _FEWEST_READINGS or _is_moving(times_s, weights_mg, end, division_mg):
        return _moving(times_s, weights_mg)
    if end < len(weights_mg):
        close = np.flatnonzero(np.abs(smooth_mg[:end] - level_mg) <= division_mg / 2)
        end = int(close[-1]) + 1 if len(close) else end
    still = _level(times_s, weights_mg, _without_tail(times_s, weights_mg, end, division_mg))
    unsure_mg = _unsure_mg(times_s, weights_mg, still.end, division_mg)
    return replace(still, noise_mg=float(np.hypot(still.noise_mg, unsure_mg)))


def _smoothing(times_s: Floats, weights_mg: Floats, noise_divisions: float) -> int:
    """Over how many readings a median is to be taken so that noise alone leaves no band of some divisions."""
    edge = _within(times_s, _EDGE_S, fewest=_FEWEST_OF_NOISE)
    # A flow's steps are no noise; at the edge there may be less of it.
    noise_mg = np.abs(np.diff(weights_mg))
    at_edge = float(np.median(noise_mg[:edge]) / max(float(np.median(noise_mg)), 1e-9)) if edge > 1 else 1.0
    wanted = _SMOOTHED_READINGS * (noise_divisions * min(at_edge, 1.0)) ** 2
    return int(np.clip(wanted, _SMOOTHED_READINGS, _SMOOTHED_MOST)) | 1


def _level(times_s: Floats, weights_mg: Floats, end: int) -> Stillness:
    """The level next to the flow, unless the edge's lies further on: then the flow faded out, or set in, slowly."""
    by_flow_mg = weights_mg[int(np.searchsorted(times_s, times_s[end - 1] - _LEVEL_S)) : end]
    by_edge_mg = weights_mg[: min(end, int(np.searchsorted(times_s, times_s[0] + _LEVEL_S, side="right")))]
    change_mg = float(by_edge_mg.mean() - by_flow_mg.mean())
    beyond_mg = weights_mg[end : end + _FEW_READINGS]
    onwards_mg = float(by_flow_mg.mean() - beyond_mg.mean()) if len(beyond_mg) else 0.0
    kept_mg = by_edge_mg if change_mg * onwards_mg > 0 else by_flow_mg
    spread_mg = float(kept_mg.std(ddof=1)) if len(kept_mg) > 1 else 0.0
    # Between the two levels anything may be right: rectangular (JCGM 100:2008, 4.3.7).
    noise_mg = float(np.hypot(spread_mg / np.sqrt(effective_count(kept_mg)), change_mg / np.sqrt(12)))
    return Stillness(
        end=end,
        is_still=True,
        level_mg=float(kept_mg.mean()),
        spread_mg=spread_mg,
        noise_mg=noise_mg,
        slope_mg_per_s=0.0,
    )


def _without_tail(times_s: Floats, weights_mg: Floats, end: int, division_mg: float) -> int:
    """Leaves out the readings next to the flow as long as they differ from the rest: a flow that fades out."""
    while True:
        block = int(np.searchsorted(times_s, times_s[end - 1] - _TAIL_S))
        if block < _FEWEST_READINGS or end - block < _FEWEST_READINGS:
            return end
        rest = slice(int(np.searchsorted(times_s, times_s[block] - _LEVEL_S)), block)
        if abs(weights_mg[block:end].mean() - weights_mg[rest].mean()) <= _TAIL_DIVISIONS * division_mg:
            return end
        end = block


def _unsure_mg(times_s: Floats, weights_mg: Floats, end: int, division_mg: float) -> float:
    """What flowed in a few readings that look still but may not be: a slow flow shows the same digit now and then.

    As a standard deviation; where the flow beyond would have moved them by far more, they stood still.
    """
    lasted_s = float(times_s[end - 1] - times_s[0])
    following = slice(end - 1, min(len(times_s), end - 1 + _FOLLOWING_READINGS))
    if (lasted_s > _SHORT_S and end > _FEW_READINGS) or following.stop - end < _FEWEST_READINGS:
        return 0.0
    moved_mg = abs(robust_line(times_s[following], weights_mg[following]).slope_mg_per_s) * lasted_s
    return moved_mg / np.sqrt(3) if moved_mg <= _HIDDEN_DIVISIONS * division_mg else 0.0


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


def _is_moving(times_s: Floats, weights_mg: Floats, end: int, division_mg: float) -> bool:
    """Whether the stretch is the slow or first part of a flow: it moves itself, and what follows moves on from it."""
    if times_s[end - 1] - times_s[0] > _SURELY_STILL_S:
        return False
    near = slice(0, _within(times_s[:end], _EDGE_S, fewest=_FEWEST_READINGS))
    thinned = slice(None, None, max(1, near.stop // 40))
    line = robust_line(times_s[near][thinned], weights_mg[near][thinned])
    moved_mg = abs(line.slope_mg_per_s) * float(times_s[near][-1] - times_s[0])
    # The slope of noisy readings is known badly; a stretch of a few readings is no plateau for that.
    readings = len(times_s[near][thinned])
    doubt_mg = 4 * line.spread_mg * float(np.sqrt(12 / readings)) if end > _FEW_READINGS else 0.0
    if moved_mg > max(division_mg, 2 * line.spread_mg, doubt_mg):
        return True
    if times_s[end - 1] - times_s[0] > _SHORT_S and end > _FEW_READINGS:
        return False
    following = slice(end - 1, min(len(times_s), 2 * end))
    if following.stop - end < _FEWEST_READINGS or moved_mg <= division_mg / 2:
        return False
    onwards = robust_line(times_s[following][:40], weights_mg[following][:40]).slope_mg_per_s
    return line.slope_mg_per_s * onwards > 0 and abs(line.slope_mg_per_s) > abs(onwards) / 3


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
