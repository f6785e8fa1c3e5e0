"""How far a jump of the tare went, and how sure that is: what flowed while the reading jumped, nobody saw."""

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from jobs.weighing.shifts import Shift
from jobs.weighing.sides import SIDE_READINGS, Side, side_of
from jobs.weighing.smoothing import Floats

# A reading that stood so often on the same digit while refrigerant flowed was frozen.
_FROZEN_FEWEST = 5
_FLOWING_DIVISIONS = 4.0
# Fewer readings than this tell no spread; with more, a sum of squares over them is too small by chance at times.
_FEWEST_FOR_SPREAD = 4
# The flow as a whole lasts from when this part of it is through until this part of it is left.
_ENDS_FRACTION = 0.05
_UNSEEN_INTERVALS = 3.0
# A gap so near the flow may hide more of it; as long as a pause of a charge in bursts, our choice.
_NEAR_FLOW_S = 120.0
_RECTANGULAR = sqrt(3)


@dataclass(frozen=True)
class _Flow:
    """When most of a log's refrigerant flowed, and how fast in the mean; pauses counted in."""

    from_s: float
    to_s: float
    mg_per_s: float


def measured(times_s: Floats, weights_mg: Floats, shifts: list[Shift], division_mg: float) -> list[Shift]:
    """The same jumps, each with its size and the standard deviation of that by the readings about it.

    Args:
        times_s: shape (n,), bumps left out.
        weights_mg: as read, shape (n,).
        shifts: the jumps among them; a stuck scale's stay as they are.
        division_mg: of the scale.
    """
    flow = _flow_of(times_s, weights_mg, shifts)
    interval_s = float(np.median(np.diff(times_s))) if len(times_s) > 1 else 1.0
    found = []
    for number, shift in enumerate(shifts):
        if not shift.offset_mg:
            found.append(shift)
            continue
        earliest = shifts[number - 1].after if number else 0
        latest = shifts[number + 1].before if number + 1 < len(shifts) else len(times_s) - 1
        span = (earliest, shift.before, shift.after, latest)
        offset_mg, sd_mg = _offset(times_s, weights_mg, span, division_mg)
        unseen_mg = _while_standing_mg(times_s, weights_mg, span, division_mg)
        if times_s[shift.after] - times_s[shift.before] > _UNSEEN_INTERVALS * interval_s:
            unseen_mg = max(unseen_mg, _in_gap_mg(flow, times_s[shift.before], times_s[shift.after]))
        sd_mg = float(np.hypot(sd_mg, unseen_mg))
        found.append(replace(shift, offset_mg=offset_mg, uncertainty_mg=sd_mg))
    return found


def _while_standing_mg(
    times_s: Floats, weights_mg: Floats, span: tuple[int, int, int, int], division_mg: float
) -> float:
    """What may have flowed while the reading stood before a jump, as a standard deviation.

    It stood because the flow paused, or was frozen while it went on: a zero pressed then hides which. Two answers have
    a standard deviation of half what is between them.
    """
    earliest, before, after, latest = span
    first = before
    while first > earliest and weights_mg[first - 1] == weights_mg[before]:
        first -= 1
    if before - first + 1 < _FROZEN_FEWEST:
        return 0.0
    head = side_of(times_s, weights_mg, max(earliest, first - SIDE_READINGS + 1), first + 1, first)
    tail = side_of(times_s, weights_mg, after, min(latest + 1, after + SIDE_READINGS), after)
    stood_s = float(times_s[before] - times_s[first])
    slower = min(abs(head.slope), abs(tail.slope))
    is_flowing_on = head.slope * tail.slope > 0 and slower * stood_s > _FLOWING_DIVISIONS * division_mg
    return (abs(head.slope) + abs(tail.slope)) / 2 * stood_s / 2 if is_flowing_on else 0.0


def _offset(
    times_s: Floats, weights_mg: Floats, span: tuple[int, int, int, int], division_mg: float
) -> tuple[float, float]:
    """The jump less what the flow on both sides brought meanwhile, and its standard deviation."""
    earliest, before, after, latest = span
    took_s = max(float(times_s[after] - times_s[before]), 1e-3)
    left = side_of(times_s, weights_mg, max(earliest, before - SIDE_READINGS + 1), before + 1, before)
    right = side_of(times_s, weights_mg, after, min(latest + 1, after + SIDE_READINGS), after)
    walk_mg2, noise_mg2 = _spread(left, right)
    noise_mg2 += division_mg**2 / 12
    counts = np.arange(1, min(len(left.away_s), len(right.away_s)) + 1)
    variances = 2 * (noise_mg2 / counts + walk_mg2 * (counts - 1) * (2 * counts - 1) / (6 * counts))
    count = int(counts[variances.argmin()])
    levels = [
        float((side.weights_mg[:count] - side.slope * side.away_s[:count]).mean()) for side in (left, right)
    ]
    jump_mg = levels[1] - levels[0] - (left.slope + right.slope) / 2 * took_s
    step_s = float(np.median(np.abs(np.diff(np.concatenate([left.away_s[::-1], right.away_s])))))
    unseen_mg2 = walk_mg2 * max(1.0, took_s / max(step_s, 1e-3))
    # Between the two rates anything may be right: rectangular (JCGM 100:2008, 4.3.7).
    bend_mg2 = ((left.slope - right.slope) * took_s) ** 2 / 12
    return jump_mg, float(np.sqrt(variances.min() + unseen_mg2 + division_mg**2 / 6 + bend_mg2))


def _spread(left: Side, right: Side) -> tuple[float, float]:
    """Variances of a step by slugs of the flow, and of a reading by noise; in doubt it was a slug.

    A standard deviation of n values is itself known only so well; as one of a Student distribution it is larger by
    the root of (n - 1) / (n - 3) (JCGM 101:2008, 6.4.9, from memory).
    """
    parts = [np.diff(side.weights_mg - side.slope * side.away_s) for side in (left, right)]
    counts = [len(part) for part in parts]
    if sum(counts) < _FEWEST_FOR_SPREAD:
        return 0.0, 0.0
    # Each side's slope was taken from its own steps.
    freedoms = max(1, sum(max(count - 1, 0) for count in counts))
    step_mg2 = sum(float(part @ part) for part in parts) / freedoms
    carried_mg2 = sum(float(part[1:] @ part[:-1]) for part in parts) / freedoms
    # Noise makes each step undo part of the last one: as far as that can't be chance, it was noise.
    noise_mg2 = float(np.clip(-carried_mg2 - step_mg2 / sqrt(freedoms), 0.0, step_mg2 / 2))
    student = (freedoms - 1) / (freedoms - 3) if freedoms > _FEWEST_FOR_SPREAD else 3.0
    return student * (step_mg2 - 2 * noise_mg2), student * noise_mg2


def _flow_of(times_s: Floats, weights_mg: Floats, shifts: list[Shift]) -> _Flow:
    steps_mg = np.diff(weights_mg)
    for shift in shifts:
        if shift.offset_mg:
            steps_mg[shift.before : shift.after] = 0.0
    gone = np.abs(np.cumsum(steps_mg))
    total_mg = float(gone[-1]) if len(gone) else 0.0
    if not total_mg:
        return _Flow(0.0, 0.0, 0.0)
    first = int(np.argmax(gone > _ENDS_FRACTION * total_mg))
    last = int(np.argmax(gone >= (1 - _ENDS_FRACTION) * total_mg)) + 1
    lasted_s = float(times_s[last] - times_s[first])
    rate = total_mg * (1 - 2 * _ENDS_FRACTION) / lasted_s if lasted_s > 0 else 0.0
    return _Flow(float(times_s[first]), float(times_s[last]), rate)


def _in_gap_mg(flow: _Flow, from_s: float, to_s: float) -> float:
    """What may have flowed in a gap, as a standard deviation: the log's mean rate more or less."""
    is_near = from_s < flow.to_s + _NEAR_FLOW_S and to_s > flow.from_s - _NEAR_FLOW_S
    return flow.mg_per_s * (to_s - from_s) / _RECTANGULAR if is_near else 0.0
