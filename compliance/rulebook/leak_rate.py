"""The leak-rate kernel: both methods of 40 CFR 82.152 on columns of additions, for one appliance or a whole fleet.

All comparisons are exact, in whole milligrams. Which additions count, what was netted and which rule applies is decided
before (additions.py, rates.py); nothing here knows a date of the law.
"""

from dataclasses import dataclass
from datetime import date
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


_BASES = tuple(IntervalBasis)


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
class Rate:
    """One row of ``RateColumns``; ``since_on`` is ``None`` where the interval began on no known day."""

    added_mg: int
    days: int
    divisor_days: int
    is_over: bool
    basis: IntervalBasis
    since_on: date | None


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

    def rows(self) -> list[Rate]:
        """The columns as one record for each addition."""
        columns = (self.added_mg, self.days, self.divisor_days, self.is_over, self.basis, self.since_day)
        return [
            Rate(added_mg, days, divisor_days, is_over, _BASES[basis], _day(since))
            for added_mg, days, divisor_days, is_over, basis, since in zip(
                *(column.tolist() for column in columns), strict=True
            )
        ]


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
    days, since_day, basis = _intervals(additions, period_days)
    added_mg, entries = additions.mass_mg.copy(), additions.entries.copy()
    rows, start = _of_several(additions.leak_group)
    for sums in (added_mg, entries):
        sums[rows] = _sum_from(sums[rows], start)
    for column in (days, since_day, basis):
        column[rows] = column[rows[start]]
    if first_calculation_days is not None:
        first = _first_rated(additions)
        days[first] = first_calculation_days
        basis[first] = IntervalBasis.FIRST_CALCULATION
    return RateColumns(
        added_mg=added_mg,
        entries=entries,
        days=days,
        divisor_days=days,
        is_over=_is_over(additions, added_mg, entries, days, period_days),
        basis=basis,
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
        first = _first_rated(additions)
        since_day[first] = np.maximum(since_day[first], first_calculation_from_day)
    # One ascending key for (window, day); ordinals stay below 2**22 (the year 9999).
    window = np.cumsum(_new(additions.appliance, additions.epoch)) << 22
    start = np.searchsorted(window + additions.day, window + since_day)
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


def _intervals(additions: AdditionColumns, period_days: int) -> tuple[Integers, Integers, Integers]:
    """Each addition by itself: the days since refrigerant was last added, the day they count from, and their basis."""
    new_moments = _new(additions.appliance, additions.moment)
    before = np.flatnonzero(new_moments) - 1
    previous_day = additions.day[before]
    previous_day[additions.appliance[before] != additions.appliance[before + 1]] = UNKNOWN
    previous_day[:1] = UNKNOWN
    since_day = previous_day[np.cumsum(new_moments) - 1]
    basis = np.full_like(since_day, IntervalBasis.PREVIOUS_ADDITION)
    first = np.flatnonzero(since_day == UNKNOWN)
    installed_day = additions.installed_day[first]
    is_known = (installed_day != UNKNOWN) & (installed_day <= additions.day[first])
    since_day[first] = np.where(is_known, installed_day, UNKNOWN)
    basis[first] = np.where(is_known, IntervalBasis.INSTALLATION, IntervalBasis.NOTHING_KNOWN)
    days = np.clip(additions.day - since_day, 1, period_days)
    days[since_day == UNKNOWN] = period_days
    return days, since_day, basis


def _of_several(groups: Integers) -> tuple[Integers, Integers]:
    """The rows of groups with several, sorted by group; and for each, the place among them of its group's first.

    Most additions are for a leak of their own, so what is reckoned by leak is reckoned of few.
    """
    order = np.argsort(groups, kind="stable")
    is_first = _new(groups[order])
    is_of_several = ~is_first
    is_of_several[:-1] |= ~is_first[1:]
    several = np.flatnonzero(is_of_several)
    is_first = is_first[several]
    return order[several], np.flatnonzero(is_first)[np.cumsum(is_first) - 1]


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
    left = (added_mg - entries).astype(kind, copy=False)
    right = additions.threshold_centi_pct.astype(kind)
    left *= period_days * _CENTI_PCT
    right *= additions.full_charge_mg
    right *= divisor_days
    return np.asarray(left > right, dtype=bool)


def _new(*columns: Integers) -> Booleans:
    """True at the first row and at each row that differs from the one before in any of the columns."""
    is_new = np.ones(columns[0].size, dtype=bool)
    if is_new.size:
        is_new[1:] = columns[0][1:] != columns[0][:-1]
        for column in columns[1:]:
            is_new[1:] |= column[1:] != column[:-1]
    return is_new


def _sum_from(values: Integers, start: Integers) -> Integers:
    """For each row, the sum from the row at ``start`` to itself."""
    running = np.cumsum(values)
    return running - (running - values)[start]


def _first_rated(additions: AdditionColumns) -> Integers:
    """The rows of each appliance's first rated addition."""
    rated = np.flatnonzero(additions.is_rated)
    return rated[np.flatnonzero(_new(additions.appliance[rated]))]


def _day(ordinal: int) -> date | None:
    return None if ordinal == UNKNOWN else date.fromordinal(ordinal)
