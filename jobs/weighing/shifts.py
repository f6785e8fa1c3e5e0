"""Finds where the reading jumped though nothing flowed: the zero key, a load put on or off, a frozen scale."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from jobs.weighing.sides import SIDE_READINGS, Side, jump_across, side_of
from jobs.weighing.smoothing import MAD_TO_SD, Floats, regional, running_median, strictness

ShiftKind = Literal["zeroed", "moved", "stuck"]

# Nothing flows faster through a service hose; common practice, no source.
FASTEST_MG_PER_S = 10e6 / 60
_FEWEST_DIVISIONS = 4.0
# So fast a scale may drift on and on; common practice, no source.
_DRIFT_DIVISIONS_PER_H = 0.5
_TIMES_USUAL_STEP, _NOISE_SDS = 5.0, 7.0
_ABOUT_READINGS = 21
_JOINED_READINGS = 3
_SETTLES_S = 4.0
_EXCURSION_S = 90.0
_SLUG_OF_A_JUMP = 0.05
_ZERO_DIVISIONS = 2.0
_STUCK_FEWEST = 5
_STUCK_STEPS = 2.5
_FLOWS_ON_FRACTION = 0.05
_FLOW_SDS = 3.0
_LIKE_FLOW = (0.2, 3.0)
_SURE_SDS = 5.0
# A slug of liquid passes at some times the usual rate; common practice, no source.
_LARGEST_SLUG = 3.0


@dataclass(frozen=True)
class Shift:
    """A jump between two readings. A stuck scale's jump is real mass, so its ``offset_mg`` is 0."""

    kind: ShiftKind
    before: int
    after: int
    from_level_mg: float
    to_level_mg: float
    offset_mg: float
    uncertainty_mg: float


def find_shifts(times_s: Floats, weights_mg: Floats, division_mg: float, sign: int) -> list[Shift]:
    """Finds the jumps.

    Args:
        times_s: shape (n,), bumps left out.
        weights_mg: shape (n,).
        division_mg: of the scale.
        sign: of the flow if stated, 0 if not; then the readings between the jumps tell.

    Returns:
        The jumps in order of time; those that flow may have made are left out.
    """
    steps_mg = np.diff(weights_mg)
    usual_mg = running_median(np.abs(steps_mg), _ABOUT_READINGS)
    rest_mg = np.abs(steps_mg - running_median(steps_mg, _ABOUT_READINGS))
    noise_mg = MAD_TO_SD * regional(running_median(rest_mg, _ABOUT_READINGS), _ABOUT_READINGS)
    stricter = strictness(len(steps_mg))
    is_jump = (
        (np.abs(steps_mg) > _FEWEST_DIVISIONS * division_mg)
        & (np.abs(steps_mg) > _TIMES_USUAL_STEP * usual_mg)
        & (rest_mg > stricter * _NOISE_SDS * noise_mg)
    )
    groups = _groups(np.flatnonzero(is_jump), steps_mg, times_s)
    if not sign:
        in_groups = np.zeros(len(steps_mg), dtype=bool)
        for first, last in groups:
            in_groups[first:last] = True
        flow_mg = float(steps_mg[~in_groups].sum())
        drift_divisions = _DRIFT_DIVISIONS_PER_H * float(times_s[-1] - times_s[0]) / 3600
        is_sure = abs(flow_mg) > (_FEWEST_DIVISIONS + drift_divisions) * division_mg
        sign = int(np.sign(flow_mg)) if is_sure else 0
    shifts = []
    for number, (before, after) in enumerate(groups):
        earliest = groups[number - 1][1] if number else 0
        latest = groups[number + 1][0] if number + 1 < len(groups) else len(times_s) - 1
        shift = _judge(times_s, weights_mg, division_mg, sign, (earliest, before, after, latest))
        if shift:
            shifts.append(shift)
    return shifts


def excursions(times_s: Floats, shifts: list[Shift], division_mg: float) -> list[tuple[int, int]]:
    """Jumps away and soon back again: somebody leaned on the scale, or lifted the load for a moment.

    Returns:
        The readings between such jumps, as half-open ranges of indices.
    """
    found: list[tuple[int, int]] = []
    for number, first in enumerate(shifts):
        if found and first.before < found[-1][1]:
            continue
        for last in range(number + 1, len(shifts)):
            between = shifts[number : last + 1]
            if times_s[between[-1].after] - times_s[first.before] > _EXCURSION_S:
                break
            offsets_mg = [shift.offset_mg for shift in between]
            doubt_mg = float(np.sqrt(sum(shift.uncertainty_mg**2 for shift in between)))
            # What flowed meanwhile is known the less the longer it took.
            flowed_mg = _SLUG_OF_A_JUMP * max(map(abs, offsets_mg))
            if any(offsets_mg) and abs(sum(offsets_mg)) <= max(
                _FEWEST_DIVISIONS * division_mg, _SURE_SDS * doubt_mg, flowed_mg
            ):
                found.append((first.before + 1, between[-1].after))
                break
    return found


def _groups(jumps: np.ndarray, steps_mg: Floats, times_s: Floats) -> list[tuple[int, int]]:
    """Jumps to one side that follow each other at once, as the readings before and after them.

    Of a run of jumps only those count that are about as large as its largest; a longer run than a load takes to
    settle is flow.
    """
    runs: list[list[int]] = []
    for index in map(int, jumps):
        is_next = runs and index - runs[-1][-1] < _JOINED_READINGS
        if is_next and np.sign(steps_mg[index]) == np.sign(steps_mg[runs[-1][-1]]):
            runs[-1].append(index)
        else:
            runs.append([index])
    groups = []
    for run in runs:
        peak_mg = np.abs(steps_mg[run]).max()
        kept = [index for index in run if abs(steps_mg[index]) >= peak_mg / 4]
        before, after = kept[0], kept[-1] + 1
        if after - before <= _JOINED_READINGS or times_s[after] - times_s[before] <= _SETTLES_S:
            groups.append((before, after))
    return groups


def _judge(
    times_s: Floats, weights_mg: Floats, division_mg: float, sign: int, span: tuple[int, int, int, int]
) -> Shift | None:
    earliest, before, after, latest = span
    took_s = max(float(times_s[after] - times_s[before]), 1e-3)
    left = side_of(times_s, weights_mg, max(earliest, before - SIDE_READINGS + 1), before + 1, before)
    right = side_of(times_s, weights_mg, after, min(latest + 1, after + SIDE_READINGS), after)
    jump_mg, uncertainty_mg = jump_across(left, right, took_s, division_mg)
    expected_mg = (abs(left.slope) + abs(right.slope)) * took_s
    steepest = max(abs(left.slope), abs(right.slope))
    step_mg = float(weights_mg[after] - weights_mg[before])
    is_slug = sign * step_mg > 0 and abs(step_mg) <= _LARGEST_SLUG * steepest * took_s
    least_mg = max(_FEWEST_DIVISIONS * division_mg, expected_mg, _SURE_SDS * uncertainty_mg)
    if is_slug or abs(jump_mg) <= least_mg:
        return None
    levels = (float(weights_mg[before]), float(weights_mg[after]))
    if frozen_since := _frozen_since(times_s, weights_mg, (earliest, before, after), jump_mg, sign, right):
        return Shift("stuck", frozen_since - 1, after, *levels, 0.0, 0.0)
    is_at_zero = abs(levels[1]) <= _ZERO_DIVISIONS * division_mg + 1.5 * abs(right.slope) * took_s
    if is_at_zero and abs(levels[0]) > _FEWEST_DIVISIONS * division_mg:
        return Shift("zeroed", before, after, *levels, jump_mg, uncertainty_mg)
    if sign * jump_mg >= 0 and _may_be_flow(left, right, jump_mg, took_s, division_mg):
        return None
    if frozen_since := _perhaps_frozen_since(times_s, weights_mg, (earliest, before, after), jump_mg):
        # Real mass or not is as likely either way; two answers have a standard deviation of half what is between them.
        return Shift("stuck", frozen_since - 1, after, *levels, 0.0, abs(jump_mg) / 2)
    return Shift("moved", before, after, *levels, jump_mg, uncertainty_mg)


def _may_be_flow(left: Side, right: Side, jump_mg: float, took_s: float, division_mg: float) -> bool:
    """Whether refrigerant flows as fast, and didn't flow slower on both sides, surely more than noise looks like."""
    is_between_flows = all(
        side.slope * np.sign(jump_mg) * took_s > division_mg / 4
        and abs(side.slope * side.away_s[-1])
        > max(division_mg, _FLOW_SDS * _noise_of_rise_mg(side, division_mg))
        for side in (left, right)
    )
    return abs(jump_mg) / took_s <= FASTEST_MG_PER_S and not is_between_flows


def _noise_of_rise_mg(side: Side, division_mg: float) -> float:
    return float(np.sqrt(2 * (side.noise_mg2 + division_mg**2 / 12)))


def _frozen_since(
    times_s: Floats,
    weights_mg: Floats,
    span: tuple[int, int, int],
    jump_mg: float,
    sign: int,
    right: Side,
) -> int:
    """One more than the index from which the reading stood frozen before a jump that catches up with the flow."""
    _, before, after = span
    first, head = _standing_before(times_s, weights_mg, span)
    took_s = times_s[after] - times_s[before]
    frozen_s = float(times_s[after] - times_s[first])
    # Most of a gap's time there was no reading that could have been frozen.
    if before - first + 1 < _STUCK_FEWEST or sign * jump_mg < 0 or took_s > frozen_s / 2:
        return 0
    # A flow that resumes after a pause jumps no more than it flows afterwards.
    if abs(jump_mg) < _STUCK_STEPS * abs(right.slope) * took_s:
        return 0
    caught_up = abs(jump_mg) / frozen_s
    # Refrigerant flowed before and flows on; a still load whose reading jumps was put on or taken off.
    is_flowing_on = abs(right.slope) >= caught_up * _FLOWS_ON_FRACTION
    return first + 1 if is_flowing_on and caught_up <= 3 * max(abs(head.slope), abs(right.slope)) else 0


def _perhaps_frozen_since(
    times_s: Floats, weights_mg: Floats, span: tuple[int, int, int], jump_mg: float
) -> int:
    """The same where the flow ended while the reading stood: it catches up with about what would have flowed."""
    _, before, after = span
    first, head = _standing_before(times_s, weights_mg, span)
    frozen_s = float(times_s[after] - times_s[first])
    if before - first + 1 < _STUCK_FEWEST or times_s[after] - times_s[before] > frozen_s / 2:
        return 0
    likeness = jump_mg / frozen_s / head.slope if head.slope else 0.0
    return first + 1 if _LIKE_FLOW[0] <= likeness <= _LIKE_FLOW[1] else 0


def _standing_before(times_s: Floats, weights_mg: Floats, span: tuple[int, int, int]) -> tuple[int, Side]:
    """The first of the readings before a jump that are all the same, and how it went before them."""
    earliest, before, _ = span
    first = before
    while first > earliest and weights_mg[first - 1] == weights_mg[before]:
        first -= 1
    return first, side_of(times_s, weights_mg, max(earliest, first - SIDE_READINGS), first + 1, first)
