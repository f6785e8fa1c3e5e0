"""The readings on both sides of a jump, and by how much the reading jumped across it."""

from dataclasses import dataclass

import numpy as np

from jobs.weighing.smoothing import Floats

_SIDE_S = 12.0
SIDE_READINGS, _ENOUGH_READINGS = 15, 5
_FEWEST_FOR_SLOPE = 4


@dataclass(frozen=True, eq=False)
class Side:
    """The readings on one side of a jump, the nearest first."""

    away_s: Floats
    weights_mg: Floats
    slope: float
    walk_mg2: float
    noise_mg2: float


def side_of(times_s: Floats, weights_mg: Floats, first: int, end: int, edge: int) -> Side:
    """The readings next to an edge on one side of it, with their slope and how much they walk and scatter about it.

    Args:
        times_s: of all readings, in seconds, rising.
        weights_mg: of all readings, in milligrams; as long as ``times_s``.
        first: the first reading that may belong to the side,
        end: and the one after the last.
        edge: the reading at the edge: ``first``, or else ``end - 1``.
    """
    order = slice(None) if edge == first else slice(None, None, -1)
    near_s, near_mg = times_s[first:end][order], weights_mg[first:end][order]
    enough = min(_ENOUGH_READINGS, len(near_s))
    near = np.abs(near_s - times_s[edge]) <= max(_SIDE_S, abs(near_s[enough - 1] - times_s[edge]))
    chosen_s, chosen_mg = near_s[near], near_mg[near]
    away_s = chosen_s - times_s[edge]
    if len(away_s) < _FEWEST_FOR_SLOPE or away_s[-1] == 0:
        return Side(away_s, chosen_mg, 0.0, 0.0, 0.0)
    slope = float((chosen_mg[-1] - chosen_mg[0]) / away_s[-1])
    rest_mg = chosen_mg - slope * away_s
    # A flow in slugs walks about its mean, a scale's noise doesn't: steps over two readings tell them apart.
    once, twice = float(np.mean(np.diff(rest_mg) ** 2)), float(np.mean((rest_mg[2:] - rest_mg[:-2]) ** 2))
    walk_mg2 = min(max(twice - once, 0.0), once)
    return Side(away_s, chosen_mg, slope, walk_mg2, max(once - walk_mg2, 0.0) / 2)


def jump_across(left: Side, right: Side, took_s: float, division_mg: float) -> tuple[float, float]:
    """The jump less what flowed meanwhile, and its standard deviation, by as many readings a side as is best."""
    walk_mg2 = (left.walk_mg2 + right.walk_mg2) / 2
    noise_mg2 = (left.noise_mg2 + right.noise_mg2) / 2 + division_mg**2 / 12
    counts = np.arange(1, min(len(left.away_s), len(right.away_s)) + 1)
    variances = (
        2 * (noise_mg2 / counts + walk_mg2 * (counts - 1) * (2 * counts - 1) / (6 * counts)) + walk_mg2
    )
    count = int(counts[variances.argmin()])
    levels = [
        float((side.weights_mg[:count] - side.slope * side.away_s[:count]).mean()) for side in (left, right)
    ]
    jump_mg = levels[1] - levels[0] - (left.slope + right.slope) / 2 * took_s
    bend_mg2 = ((left.slope - right.slope) * took_s) ** 2 / 12
    return jump_mg, float(np.sqrt(variances.min() + division_mg**2 / 6 + bend_mg2))
