"""Finds where the reading jumped though nothing flowed: the zero key, a load put on or off, a frozen scale."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from jobs.weighing.smoothing import Floats, Line, robust_line, running_median

ShiftKind = Literal["zeroed", "moved", "stuck"]

# Nothing flows faster through a service hose; common practice, no source.
_FASTEST_MG_PER_S = 10e6 / 60
_FEWEST_DIVISIONS = 4.0
_TIMES_USUAL_STEP = 5.0
_SIDE_S = 12.0
_SIDE_READINGS = 15
_JOINED_READINGS = 3
_ZERO_DIVISIONS = 2.0
_STUCK_FEWEST = 5


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
    usual_mg = running_median(np.abs(steps_mg), 21)
    is_jump = np.abs(steps_mg) > np.maximum(_FEWEST_DIVISIONS * division_mg, _TIMES_USUAL_STEP * usual_mg)
    groups = _groups(np.flatnonzero(is_jump), np.sign(steps_mg))
    if not sign:
        in_groups = np.zeros(len(steps_mg), dtype=bool)
        for first, last in groups:
            in_groups[first:last] = True
        flow_mg = float(steps_mg[~in_groups].sum())
        sign = int(np.sign(flow_mg)) if abs(flow_mg) > _FEWEST_DIVISIONS * division_mg else 0
    shifts = []
    for number, (before, after) in enumerate(groups):
        earliest = groups[number - 1][1] if number else 0
        latest = groups[number + 1][0] if number + 1 < len(groups) else len(times_s) - 1
        shift = _judge(times_s, weights_mg, division_mg, sign, (earliest, before, after, latest))
        if shift:
            shifts.append(shift)
    return shifts


def _groups(jumps: np.ndarray, signs: Floats) -> list[tuple[int, int]]:
    """Jumps to one side that follow each other at once, as the readings before and after them."""
    groups: list[tuple[int, int]] = []
    for index in map(int, jumps):
        if groups and index < groups[-1][1] + _JOINED_READINGS - 1 and signs[index] == signs[groups[-1][0]]:
            groups[-1] = (groups[-1][0], index + 1)
        else:
            groups.append((index, index + 1))
    return groups


def _judge(
    times_s: Floats, weights_mg: Floats, division_mg: float, sign: int, span: tuple[int, int, int, int]
) -> Shift | None:
    earliest, before, after, latest = span
    took_s = max(float(times_s[after] - times_s[before]), 1e-3)
    middle_s = float(times_s[before] + times_s[after]) / 2
    left = _side(times_s, weights_mg, max(earliest, before - _SIDE_READINGS + 1), before + 1, times_s[before])
    right = _side(times_s, weights_mg, after, min(latest + 1, after + _SIDE_READINGS), times_s[after])
    jump_mg = right.at(middle_s) - left.at(middle_s)
    steepest = max(abs(left.slope_mg_per_s), abs(right.slope_mg_per_s))
    doubt_mg = float(np.hypot(left.spread_mg, right.spread_mg)) / 2
    expected_mg = (abs(left.slope_mg_per_s) + abs(right.slope_mg_per_s)) * took_s
    if abs(jump_mg) <= max(_FEWEST_DIVISIONS * division_mg, expected_mg, 5 * doubt_mg):
        return None
    uncertainty_mg = float(
        np.sqrt(
            doubt_mg**2
            + division_mg**2 / 6
            + ((left.slope_mg_per_s - right.slope_mg_per_s) * took_s) ** 2 / 12
        )
    )
    levels = (left.at(float(times_s[before])), right.at(float(times_s[after])))
    if frozen_since := _frozen_since(times_s, weights_mg, (earliest, before, after), jump_mg, sign, steepest):
        return Shift("stuck", frozen_since - 1, after, *levels, 0.0, 0.0)
    is_at_zero = abs(levels[1]) <= _ZERO_DIVISIONS * division_mg + 1.5 * abs(right.slope_mg_per_s) * took_s
    if is_at_zero and abs(levels[0]) > _FEWEST_DIVISIONS * division_mg:
        return Shift("zeroed", before, after, *levels, jump_mg, uncertainty_mg)
    is_flow = sign * jump_mg >= 0 and abs(jump_mg) / took_s <= _FASTEST_MG_PER_S
    is_between_flows = min(abs(left.slope_mg_per_s), abs(right.slope_mg_per_s)) * took_s > division_mg / 4
    if is_flow and not is_between_flows:
        return None
    return Shift("moved", before, after, *levels, jump_mg, uncertainty_mg)


def _side(times_s: Floats, weights_mg: Floats, first: int, end: int, edge_s: float) -> Line:
    near = np.abs(times_s[first:end] - edge_s) <= _SIDE_S
    chosen_s, chosen_mg = times_s[first:end][near], weights_mg[first:end][near]
    if len(chosen_s) < 4:  # noqa: PLR2004 -- a slope of three readings is noise
        return Line(float(edge_s), float(np.median(chosen_mg)), 0.0, 0.0)
    return robust_line(chosen_s, chosen_mg)


def _frozen_since(
    times_s: Floats,
    weights_mg: Floats,
    span: tuple[int, int, int],
    jump_mg: float,
    sign: int,
    steepest: float,
) -> int:
    """One more than the index from which the reading stood frozen before a jump that catches up with the flow."""
    earliest, before, after = span
    first = before
    while first > earliest and weights_mg[first - 1] == weights_mg[before]:
        first -= 1
    if before - first + 1 < _STUCK_FEWEST or sign * jump_mg < 0:
        return 0
    head = _side(times_s, weights_mg, max(earliest, first - _SIDE_READINGS), first + 1, times_s[first])
    usual = max(abs(head.slope_mg_per_s), steepest)
    caught_up = abs(jump_mg) / float(times_s[after] - times_s[first])
    return first + 1 if usual > 0 and usual / 3 <= caught_up <= usual * 3 else 0
