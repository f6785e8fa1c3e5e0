"""Leak rates under 40 CFR 82.157(b) and 84.106(b): which additions are rated, by which threshold; the look ahead."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

import numpy as np

from compliance.rulebook.additions import Addition, CollectedAdditions
from compliance.rulebook.facts import LeakRateMethod
from compliance.rulebook.jurisdictions.lifetime import Reach
from compliance.rulebook.jurisdictions.us_federal.methods import Methods
from compliance.rulebook.jurisdictions.us_federal.rate_words import RateWords
from compliance.rulebook.leak_rate import (
    UNKNOWN,
    AdditionColumns,
    Integers,
    Rate,
    annualizing,
    rolling,
)
from compliance.rulebook.masses import format_mass, round_half_even
from compliance.rulebook.results import LeakRate, RuleHeadroom
from compliance.rulebook.tables import Row, Tables
from compliance.rulebook.timeline import Timeline

_FIRST_KEYS = {
    LeakRateMethod.ANNUALIZING: "first_calculation_interval",
    LeakRateMethod.ROLLING_AVERAGE: "first_calculation_from",
}


class RatedAdditions:
    """The additions of one appliance under one rule; to look ahead, after them one of nothing on the day asked about.

    That last one shows how much is left: what counts in its rate already, and the days it would be divided by.

    Source: 40 CFR 82.157(b), 84.106(b); thresholds (c)(2).
    """

    def __init__(
        self, rule: str, timeline: Timeline, additions: CollectedAdditions, tables: Tables, reach: Reach
    ) -> None:
        self._rule = rule
        self._timeline = timeline
        self._tables = tables
        self.methods = Methods(rule, timeline, tables)
        self._count = len(additions.rows)
        self._collected = additions
        self._additions = additions.rows
        if timeline.looks_ahead:
            self._additions = additions.with_probe(timeline.as_of.unwatched, timeline.final_state)
        self._thresholds = [self._threshold(addition, reach) for addition in self._additions]
        self._period = tables.row(rule, "annual_period", on=timeline.as_of)
        self._period_days = self._period.count

    def leak_rates(self) -> list[LeakRate]:
        """The leak rate of each addition that the rule asks one for, in the order of the facts.

        No rate follows a charge at installation, right after a retrofit, or within a seasonal variance.
        """
        rows = [
            self._leak_rate(index, threshold)
            for index, threshold in enumerate(self._thresholds[: self._count])
            if threshold is not None
        ]
        return sorted(rows, key=lambda row: row.position)

    def headroom(self) -> RuleHeadroom | None:
        """The largest addition on the day asked about that stays at or under the threshold, for a leak of its own.

        Exact, rounded down to a milligram, without the milligram's tolerance, never below zero; ``None`` where the rule
        sets no threshold that day, or nobody looks ahead.
        """
        state = self._timeline.final_state
        threshold = self._thresholds[-1] if self._timeline.looks_ahead else None
        if threshold is None or state.is_retired:
            return None
        rate = self._rate(-1)
        counted_mg, divisor_days = rate.added_mg, rate.divisor_days
        allowed = Fraction(threshold.number) / 100 * state.full_charge_mg * divisor_days / self._period_days
        mass_mg = max(0, (allowed - counted_mg).__floor__())
        sum_in_words = f"{format_mass(state.full_charge_mg)} × {threshold.in_words}"
        if self.methods.of(state) is LeakRateMethod.ANNUALIZING:
            sum_in_words += f" × {divisor_days} / {self._period_days}"
        else:
            sum_in_words += f" − {format_mass(counted_mg)} already counted"
        return RuleHeadroom(
            mass_mg,
            f"The largest addition on {self._timeline.as_of.unwatched} that stays at or under the "
            f"{threshold.in_words} threshold ({threshold.citation}): {sum_in_words} = {format_mass(mass_mg)}.",
        )

    def _leak_rate(self, index: int, threshold: Row) -> LeakRate:
        addition, rate = self._additions[index], self._rate(index)
        method = self.methods.of(addition.state)
        percent = Fraction(
            rate.added_mg * self._period_days * 100, addition.state.full_charge_mg * rate.divisor_days
        )
        rounded = rounded_pct(percent)
        return LeakRate(
            on=addition.on,
            rule=self._rule,
            method=method,
            added_mg=rate.added_mg,
            days=rate.days,
            percent=percent,
            percent_rounded=rounded,
            threshold_pct=threshold.number,
            exceeds=rate.is_over,
            because=self._words.because(
                addition, rate, rounded, threshold, method=method, leak_from_on=self._leak_from_on(addition)
            ),
            event=addition.event,
            leak=addition.leak,
            position=addition.position,
            net_mg=addition.net_mg,
            full_charge_mg=addition.state.full_charge_mg,
            rests_on=(threshold, *self._rests_on[method], *self._collected.season_on(addition.on)),
        )

    def _threshold(self, addition: Addition, reach: Reach) -> Row | None:
        """The threshold row that an addition is held against, if the rule asks for a rate of it."""
        if not addition.is_counted or not reach.applies(addition.state, addition.on):
            return None
        category = self._timeline.appliance.category
        return self._tables.row(self._rule, "leak_rate_threshold", on=addition.on, category=category)

    def _leak_from_on(self, addition: Addition) -> date:
        """The day of the first addition for the same leak."""
        return addition.on if addition.leak is None else self._leaks_from.get(addition.leak, addition.on)

    @cached_property
    def _leaks_from(self) -> dict[str, date]:
        first: dict[str, date] = {}
        for addition in self._additions:
            if addition.leak is not None and addition.is_counted:
                first.setdefault(addition.leak, addition.on)
        return first

    @cached_property
    def _rests_on(self) -> dict[LeakRateMethod, list[Row]]:
        """By which rows each method calculates: its period, and what the rule says of a first calculation."""
        on = self._timeline.as_of
        first = {method: self._tables.find(self._rule, key, on=on) for method, key in _FIRST_KEYS.items()}
        return {method: [self._period, *([] if row is None else [row])] for method, row in first.items()}

    @cached_property
    def _words(self) -> RateWords:
        return RateWords(self._rule, self._timeline.appliance, self._tables, on=self._timeline.as_of)

    def _rate(self, index: int) -> Rate:
        """The rate of an addition by the method in force for it."""
        return self._rates[self.methods.of(self._additions[index].state)][index]

    @cached_property
    def _rates(self) -> dict[LeakRateMethod, list[Rate]]:
        """The rates of all additions by each method that was ever in force."""
        columns = _columns(self._timeline, self._additions, self._thresholds)
        methods = {self.methods.of(addition.state) for addition in self._additions}
        return {method: self._rates_by(method, columns) for method in methods}

    def _rates_by(self, method: LeakRateMethod, columns: AdditionColumns) -> list[Rate]:
        as_of = self._timeline.as_of
        if method is LeakRateMethod.ANNUALIZING:
            row = self._tables.find(self._rule, _FIRST_KEYS[method], on=as_of)
            first_days = row.count if row else None
            rates = annualizing(columns, period_days=self._period_days, first_calculation_days=first_days)
            return rates.rows()
        row = self._tables.find(self._rule, _FIRST_KEYS[method], on=as_of)
        first_day = row.day.toordinal() if row else None
        rates = rolling(columns, period_days=self._period_days, first_calculation_from_day=first_day)
        return rates.rows()


def rounded_pct(percent: Fraction) -> Decimal:
    """Two decimals, half-even, from the exact value."""
    return Decimal(round_half_even(percent.numerator * 100, percent.denominator)).scaleb(-2)


def _columns(
    timeline: Timeline, additions: Sequence[Addition], thresholds: Sequence[Row | None]
) -> AdditionColumns:
    moments = _numbered([(addition.on, addition.moment) for addition in additions])
    groups = _numbered(
        [
            ("leak", addition.leak)
            if addition.leak is not None and addition.is_counted
            else ("own", addition.position)
            for addition in additions
        ]
    )

    def column(values: list[int]) -> Integers:
        return np.array(values, dtype=np.int64)

    installed_on = timeline.appliance.installed_on
    return AdditionColumns(
        appliance=column([0] * len(additions)),
        day=column([addition.on.toordinal() for addition in additions]),
        moment=column(moments),
        leak_group=column(groups),
        epoch=column([addition.epoch for addition in additions]),
        epoch_start_day=column([_ordinal(addition.epoch_started_on) for addition in additions]),
        installed_day=column([_ordinal(installed_on)] * len(additions)),
        mass_mg=column([addition.net_mg if addition.is_counted else 0 for addition in additions]),
        entries=column([addition.entries if addition.is_counted else 0 for addition in additions]),
        full_charge_mg=column([addition.state.full_charge_mg for addition in additions]),
        threshold_centi_pct=column([int(row.number * 100) if row else 0 for row in thresholds]),
        is_rated=np.array([row is not None for row in thresholds], dtype=bool),
    )


def _ordinal(on: date | None) -> int:
    return UNKNOWN if on is None else on.toordinal()


def _numbered(keys: Sequence[object]) -> list[int]:
    numbers: dict[object, int] = {}
    return [numbers.setdefault(key, len(numbers)) for key in keys]
