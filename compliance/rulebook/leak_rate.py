"""The leak-rate kernel: both methods of 40 CFR 82.152 on columns of additions, for one appliance or a whole fleet.

All comparisons are exact, in whole milligrams. Which additions count, what was netted and which rule applies is decided
before (additions.py, rates.py); nothing here knows a date of the law.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]
Booleans = NDArray[np.bool_]

# A percentage in hundredths, times a part in a hundred: the scale of an exact comparison with a threshold.
_CENTI_PCT = 100 * 100
_SAFE_PRODUCT = 2**62
UNKNOWN = -1


class IntervalBasis(IntEnum):
    """What the interval of an annualized rate was counted from."""

    PREVIOUS_ADDITION = 0
    INSTALLATION = 1
    NOTHING_KNOWN = 2
    FIRST_CALCULATION = 3


@dataclass(frozen=True)
class AdditionColumns:
    """Additions sorted by appliance, then day, then given order; every column has one entry for each of them.

    Days are proleptic ordinals (``date.toordinal``), ``UNKNOWN`` where there is none.

    Attributes:
        appliance: any number, equal for one appliance.
        day: the day refrigerant was added.
        moment: equal for neighbours that one service event did on one day; they are no interval apart.
        leak_group: equal for additions of one appliance for the same leak, unlike any other otherwise.
        epoch: grows within an appliance where the rolling window begins anew.
        epoch_start_day: the day that the epoch began, ``UNKNOWN`` for the first.
        installed_day: the day of installation, ``UNKNOWN`` if not known.
        mass_mg: net mass that counts, zero or more; zero where the addition only marks its day.
        entries: how many recorded masses ``mass_mg`` was made of.
        full_charge_mg: the full charge in force, above zero.
        threshold_centi_pct: the threshold in hundredths of a percent; any number where not rated.
        is_rated: whether the rule asks for a rate of this addition.
    """

    appliance: Integers
    day: Integers
    moment: Integers
    leak_group: Integers
    epoch: Integers
    epoch_start_day: Integers
    installed_day: Integers
    mass_mg: Integers
    entries: Integers
    full_charge_mg: Integers
    threshold_centi_pct: Integers
    is_rated: Booleans


@dataclass(frozen=True)
class RateColumns:
    """One rate for each addition; entries where ``is_rated`` was false mean nothing.

    The rate is ``added_mg / full_charge_mg × period / divisor_days × 100`` percent.

    Attributes:
        added_mg: what counts: the leak's sum so far, or the window's.
        entries: how many recorded masses that sum was made of.
        days: the interval, or the window's length.
        divisor_days: what the rate is divided by: the interval, or the whole period for the rolling method.
        is_over: whether the rate is over the threshold, not at it, by more than 1 mg for each entry.
        basis: what the interval was counted from (``IntervalBasis``); zero for the rolling method.
        since_day: the day the interval or window began, ``UNKNOWN`` if none.
    """

    added_mg: Integers
    entries: Integers
    days: Integers
    divisor_days: Integers
    is_over: Booleans
    basis: Integers
    since_day: Integers


def annualizing(
    additions: AdditionColumns, *, period_days: int, first_calculation_days: int | None = None
) -> RateColumns:
    """Annualizes what was added for each leak over the days since refrigerant was last added.

    Args:
        additions: the columns.
        period_days: the year of the rule (365), and the longest interval.
        first_calculation_days: the interval of an appliance's first rated addition, where the rule fixes one.

    Returns:
        Rates with ``divisor_days`` equal to ``days``.

    Source: 40 CFR 82.152, *Leak rate*, (1) annualizing method; 40 CFR 84.106(b)(1) for the first calculation.
    """
    row = np.arange(additions.day.size)
    moment_start = _running_start(_changes(additions.appliance, additions.moment))
    before = moment_start - 1
    has_previous = (before >= 0) & (additions.appliance[before] == additions.appliance)
    previous_day = np.where(has_previous, additions.day[before], UNKNOWN)

    by_group = np.argsort(additions.leak_group, kind="stable")
    start_in_group = _running_start(_changes(additions.leak_group[by_group]))
    first = np.empty_like(row)
    first[by_group] = by_group[start_in_group]
    added_mg = _sum_so_far(additions.mass_mg, by_group, start_in_group)
    entries = _sum_so_far(additions.entries, by_group, start_in_group)

    since_day = previous_day[first]
    installed = additions.installed_day[first]
    knows_installation = (installed != UNKNOWN) & (installed <= additions.day[first])
    basis = np.where(
        since_day != UNKNOWN,
        IntervalBasis.PREVIOUS_ADDITION,
        np.where(knows_installation, IntervalBasis.INSTALLATION, IntervalBasis.NOTHING_KNOWN),
    )
    since_day = np.where(basis == IntervalBasis.INSTALLATION, installed, since_day)
    days = np.where(basis == IntervalBasis.NOTHING_KNOWN, period_days, additions.day[first] - since_day)
    days = np.clip(days, 1, period_days)
    if first_calculation_days is not None:
        is_first = _first_rated(additions)
        days = np.where(is_first, first_calculation_days, days)
        basis = np.where(is_first, IntervalBasis.FIRST_CALCULATION, basis)
    return RateColumns(
        added_mg=added_mg,
        entries=entries,
        days=days,
        divisor_days=days,
        is_over=_is_over(additions, added_mg, entries, days, period_days),
        basis=basis.astype(np.int64),
        since_day=since_day,
    )


def rolling(
    additions: AdditionColumns, *, period_days: int, first_calculation_from_day: int | None = None
) -> RateColumns:
    """Sums what was added in the period that ends on each addition's day, or since the window last began anew.

    Args:
        additions: the columns.
        period_days: the length of the window (365): the addition's own day and the days before it.
        first_calculation_from_day: the first day that counts in an appliance's first rated addition, where the rule
            fixes one.

    Returns:
        Rates with ``divisor_days`` equal to the period: a shorter window isn't annualized.

    Source: 40 CFR 82.152, *Leak rate*, (2) rolling average method; 40 CFR 84.106(b)(2) for the first calculation.
    """
    since_day = np.maximum(additions.day - period_days + 1, additions.epoch_start_day)
    if first_calculation_from_day is not None:
        floor = np.maximum(since_day, first_calculation_from_day)
        since_day = np.where(_first_rated(additions), floor, since_day)
    block = np.cumsum(_changes(additions.appliance, additions.epoch)) - 1
    # One ascending key for (block, day); ordinals stay below 2**22 (the year 9999).
    start = np.searchsorted((block << 22) + additions.day, (block << 22) + since_day)
    added_mg = _sum_from(additions.mass_mg, start)
    entries = _sum_from(additions.entries, start)
    divisor_days = np.full_like(additions.day, period_days)
    return RateColumns(
        added_mg=added_mg,
        entries=entries,
        days=additions.day - since_day + 1,
        divisor_days=divisor_days,
        is_over=_is_over(additions, added_mg, entries, divisor_days, period_days),
        basis=np.zeros_like(additions.day),
        since_day=since_day,
    )


def _is_over(
    additions: AdditionColumns,
    added_mg: Integers,
    entries: Integers,
    divisor_days: Integers,
    period_days: int,
) -> Booleans:
    """Whether added / charge × period / days exceeds the threshold by more than one milligram an entry.

    Multiplied out, so that nothing is divided; falls back on Python's whole numbers where 64 bits could overflow.
    """
    if not added_mg.size:
        return np.zeros(0, dtype=bool)
    largest = max(
        int(added_mg.max()) * period_days * _CENTI_PCT,
        int(additions.full_charge_mg.max()) * period_days * int(additions.threshold_centi_pct.max()),
    )
    kind = np.int64 if largest < _SAFE_PRODUCT else object
    left = (added_mg - entries).astype(kind) * (period_days * _CENTI_PCT)
    right = additions.threshold_centi_pct.astype(kind) * additions.full_charge_mg.astype(kind) * divisor_days
    return np.asarray(left > right, dtype=bool)


def _changes(*columns: Integers) -> Booleans:
    """True at the first row and at each row that differs from the one before in any of the columns."""
    is_new = np.ones(columns[0].size, dtype=bool)
    if is_new.size:
        is_new[1:] = False
        for column in columns:
            is_new[1:] |= column[1:] != column[:-1]
    return is_new


def _running_start(is_new: Booleans) -> Integers:
    """For each row, the index of the latest row that was new."""
    return np.maximum.accumulate(np.where(is_new, np.arange(is_new.size), 0))


def _sum_so_far(values: Integers, order: Integers, start_in_order: Integers) -> Integers:
    """The running sum within groups: ``order`` sorts rows by group, ``start_in_order`` is each one's group start."""
    sorted_values = values[order]
    running = np.cumsum(sorted_values)
    sums = np.empty_like(values)
    sums[order] = running - (running - sorted_values)[start_in_order]
    return sums


def _sum_from(values: Integers, start: Integers) -> Integers:
    """For each row, the sum from the row at ``start`` to itself."""
    running = np.cumsum(values)
    return running - (running - values)[start]


def _first_rated(additions: AdditionColumns) -> Booleans:
    """True at the first rated addition of each appliance."""
    is_first = np.zeros(additions.day.size, dtype=bool)
    rated = np.flatnonzero(additions.is_rated)
    is_first[rated[_changes(additions.appliance[rated])]] = True
    return is_first
