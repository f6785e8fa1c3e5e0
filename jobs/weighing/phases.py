"""Tells the phases of a recovery by its rates: liquid fast, vapour slower, the pull-down slowest."""

from itertools import combinations

import numpy as np

from jobs.weighing.results import Phase, PhaseKind
from jobs.weighing.smoothing import Floats

# A phase's rate is at most this part of the one before; common practice, no source.
_SLOWER_FRACTION = 0.4
_SHORTEST_FRACTION = 0.04
_LEAST_DIVISIONS, _LEAST_FRACTION = 3.0, 0.03
_PIECES = 48
_FEWEST_READINGS = 30
_NAMES: dict[int, tuple[PhaseKind, ...]] = {2: ("liquid", "vapour"), 3: ("liquid", "vapour", "pull_down")}


def find_phases(times_s: Floats, weights_mg: Floats, division_mg: float) -> tuple[Phase, ...]:
    """Splits the flow into two or three stretches, each markedly slower than the one before.

    Args:
        times_s: of the flow alone, shape (n,).
        weights_mg: rising, without bumps and tare shifts, shape (n,).
        division_mg: of the scale.

    Returns:
        The phases; none where the curve shows no such change.
    """
    if len(times_s) < _FEWEST_READINGS or times_s[-1] <= times_s[0]:
        return ()
    knots_s = np.linspace(times_s[0], times_s[-1], _PIECES + 1)
    knots_mg = np.interp(knots_s, times_s, weights_mg)
    for parts in (3, 2):
        bounds = _best_bounds(knots_mg, parts)
        if _is_slowing(knots_mg, bounds, division_mg):
            return tuple(
                Phase(kind, float(knots_s[first]), float(knots_s[last]))
                for kind, first, last in zip(_NAMES[parts], bounds, bounds[1:], strict=False)
            )
    return ()


def _best_bounds(knots_mg: Floats, parts: int) -> tuple[int, ...]:
    """The knots between which straight lines fit best, joined end to end."""
    last = len(knots_mg) - 1
    positions = np.arange(last + 1)
    shortest = max(1, round(_SHORTEST_FRACTION * last))

    def misfit(bounds: tuple[int, ...]) -> float:
        if min(np.diff(bounds)) < shortest:
            return float("inf")
        drawn_mg = np.interp(positions, bounds, knots_mg[list(bounds)])
        return float(((knots_mg - drawn_mg) ** 2).sum())

    candidates = ((0, *inner, last) for inner in combinations(range(1, last), parts - 1))
    return min(candidates, key=misfit)


def _is_slowing(knots_mg: Floats, bounds: tuple[int, ...], division_mg: float) -> bool:
    rises_mg = np.diff(knots_mg[list(bounds)])
    rates = rises_mg / np.diff(bounds)
    # A second phase of two that brings next to nothing is the flow's end, no phase.
    least_mg = np.array([_LEAST_DIVISIONS * division_mg] * len(rises_mg))
    least_mg[1] = max(least_mg[1], _LEAST_FRACTION * rises_mg.sum())
    return bool((rises_mg > least_mg).all() and (rates[1:] <= _SLOWER_FRACTION * rates[:-1]).all())
