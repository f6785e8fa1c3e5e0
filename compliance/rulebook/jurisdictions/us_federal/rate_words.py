"""The reason of a leak rate in words and figures, so that a person redoes it with a pocket calculator."""

from calendar import isleap
from dataclasses import replace
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.additions import Addition
from compliance.rulebook.facts import Appliance, LeakRateMethod
from compliance.rulebook.leak_rate import UNKNOWN, IntervalBasis, RateColumns
from compliance.rulebook.masses import format_mass, in_unit
from compliance.rulebook.results import LeakRate
from compliance.rulebook.tables import Row, Tables


class RateWords:
    """Explains the rates of one appliance under one rule."""

    def __init__(self, rule: str, appliance: Appliance, tables: Tables) -> None:
        self._rule = rule
        self._appliance = appliance
        self._tables = tables

    def explained(
        self, row: LeakRate, addition: Addition, threshold: Row, rates: RateColumns, index: int
    ) -> LeakRate:
        """The same row with its ``because``."""
        since_day = int(rates.since_day[index])
        since_on = None if since_day == UNKNOWN else date.fromordinal(since_day)
        period_days = self._tables.row(self._rule, "annual_period", on=row.on).count
        fraction = f"{in_unit(row.added_mg, 'lb')} / {in_unit(row.full_charge_mg, 'lb')}"
        if row.method is LeakRateMethod.ANNUALIZING:
            span = self._interval(row, IntervalBasis(int(rates.basis[index])), since_on)
            arithmetic = f"{fraction} × {period_days} / {row.days} × 100"
        else:
            span = self._window(row, addition, since_on or row.on, period_days)
            arithmetic = f"{fraction} × 100"
        mass = _mass(row, addition)
        because = (
            f"{mass}, {span}: {arithmetic} = {row.percent_rounded} %, {self._comparison(row, threshold)}"
        )
        return replace(row, because=because)

    def _interval(self, row: LeakRate, basis: IntervalBasis, since_on: date | None) -> str:
        days = "1 day" if row.days == 1 else f"{row.days} days"
        if basis is IntervalBasis.FIRST_CALCULATION:
            citation = self._tables.row(self._rule, "first_calculation_interval", on=row.on).citation
            return f"{days} since refrigerant was last added (first calculation, {citation})"
        if basis is IntervalBasis.NOTHING_KNOWN or since_on is None:
            return f"{days} ({policy.NOTHING_EARLIER_KNOWN})"
        if basis is IntervalBasis.INSTALLATION:
            return f"{days} since installation on {since_on} ({policy.NO_EARLIER_ADDITION})"
        words = f"{days} since refrigerant was last added on {since_on}"
        if row.leak is not None:
            words += f" ({policy.SAME_LEAK_IS_SUMMED})"
        elif since_on == row.on:
            words += f" ({policy.ONE_DAY_AT_LEAST})"
        elif (row.on - since_on).days > row.days:
            words += f" ({policy.INTERVAL_IS_CAPPED})"
        if _holds_29_february(since_on, row.on):
            words += f" ({policy.DAYS_IN_LEAP_YEARS})"
        return words

    def _window(self, row: LeakRate, addition: Addition, since_on: date, period_days: int) -> str:
        words = f"from {since_on} to {row.on}"
        first = self._tables.find(self._rule, "first_calculation_from", on=row.on)
        if row.days == period_days:
            words += f" ({policy.WINDOW_INCLUDES_ITS_DAY})"
            if first is not None and since_on < first.day:
                words += f" ({policy.LATER_WINDOWS_REACH_BACK})"
        elif since_on == addition.epoch_started_on:
            words += f" ({policy.WINDOW_BEGINS_ANEW})"
        elif first is not None:
            words += f" (first calculation, {first.citation})"
        return words

    def _comparison(self, row: LeakRate, threshold: Row) -> str:
        """Over or not, with what a person who reckons again may stumble over."""
        is_at = not row.exceeds and row.percent_rounded == row.threshold_pct
        side = "over" if row.exceeds else "at" if is_at else "not over"
        category = self._appliance.category.in_words
        words = f"{side} the {threshold.in_words} threshold for {category} ({threshold.citation})"
        if is_at:
            words += f"; {policy.OVER_IS_NOT_AT}, and {policy.RESOLUTION}"
        if row.full_charge_mg != self._appliance.full_charge_mg:
            words += f"; {policy.CHARGE_IN_FORCE}"
        return f"{words}."


def _holds_29_february(since_on: date, on: date) -> bool:
    """Whether a 29 February lies in the days after ``since_on`` up to ``on``."""
    years = range(since_on.year, on.year + 1)
    return any(isleap(year) and since_on < date(year, 2, 29) <= on for year in years)


def _mass(row: LeakRate, addition: Addition) -> str:
    """What counts: the event's net, and the sum it goes into."""
    own = format_mass(addition.net_mg)
    notes = []
    if addition.seasonal_mg:
        notes.append(
            f"{format_mass(addition.seasonal_mg)} of seasonal variance not counted; "
            f"{policy.SEASONAL_EXCESS_IS_SERVICE}"
        )
    if addition.purged_mg:
        notes.append(f"{format_mass(addition.purged_mg)} purged and destroyed not counted")
    if addition.removed_mg:
        notes.append(
            f"{format_mass(addition.gross_mg - addition.purged_mg)} put back less {format_mass(addition.removed_mg)} "
            f"removed; {policy.NET_WITHIN_ONE_EVENT}"
        )
        if addition.net_mg == 0:
            notes.append(policy.NET_OF_NOTHING.wording)
    words = f"{own} added" + (f" ({'; '.join(notes)})" if notes else "")
    if row.added_mg == addition.net_mg:
        return words
    if row.method is LeakRateMethod.ANNUALIZING:
        return f"{words}, {format_mass(row.added_mg)} so far for the leak {row.leak}"
    return f"{words}, {format_mass(row.added_mg)} in all"
