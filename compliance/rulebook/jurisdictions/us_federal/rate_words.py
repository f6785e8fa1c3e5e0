"""The reason of a leak rate in words and figures, so that a person redoes it with a pocket calculator."""

from calendar import isleap
from datetime import date
from decimal import Decimal

from compliance.rulebook import policy
from compliance.rulebook.additions import Addition
from compliance.rulebook.facts import Appliance, LeakRateMethod
from compliance.rulebook.leak_rate import IntervalBasis, Rate
from compliance.rulebook.masses import format_mass, in_unit
from compliance.rulebook.tables import Row, Tables


class RateWords:
    """Explains the rates of one appliance under one rule."""

    def __init__(self, rule: str, appliance: Appliance, tables: Tables, *, on: date) -> None:
        self._appliance = appliance
        self._category = appliance.category.in_words
        self._is_annualizing = appliance.leak_rate_method is LeakRateMethod.ANNUALIZING
        self._period_days = tables.row(rule, "annual_period", on=on).count
        self._first_interval = tables.find(rule, "first_calculation_interval", on=on)
        self._first_from = tables.find(rule, "first_calculation_from", on=on)

    def because(self, addition: Addition, rate: Rate, percent: Decimal, threshold: Row) -> str:
        """The mass that counts, the time it is taken over, the arithmetic, and which side of the threshold it is on."""
        fraction = f"{in_unit(rate.added_mg, 'lb')} / {in_unit(addition.state.full_charge_mg, 'lb')}"
        if self._is_annualizing:
            span = self._interval(addition, rate)
            arithmetic = f"{fraction} × {self._period_days} / {rate.days} × 100"
        else:
            span = self._window(addition, rate)
            arithmetic = f"{fraction} × 100"
        mass = self._mass(addition, rate)
        comparison = self._comparison(addition, rate, percent, threshold)
        return f"{mass}, {span}: {arithmetic} = {percent} %, {comparison}."

    def _interval(self, addition: Addition, rate: Rate) -> str:
        days = "1 day" if rate.days == 1 else f"{rate.days} days"
        if rate.basis is IntervalBasis.FIRST_CALCULATION and self._first_interval is not None:
            return f"{days} since refrigerant was last added (first calculation, {self._first_interval.citation})"
        if rate.basis is IntervalBasis.NOTHING_KNOWN or rate.since_on is None:
            return f"{days} ({policy.NOTHING_EARLIER_KNOWN})"
        if rate.basis is IntervalBasis.INSTALLATION:
            return f"{days} since installation on {rate.since_on} ({policy.NO_EARLIER_ADDITION})"
        words = f"{days} since refrigerant was last added on {rate.since_on}"
        if addition.leak is not None:
            words += f" ({policy.SAME_LEAK_IS_SUMMED})"
        elif rate.since_on == addition.on:
            words += f" ({policy.ONE_DAY_AT_LEAST})"
        elif (addition.on - rate.since_on).days > rate.days:
            words += f" ({policy.INTERVAL_IS_CAPPED})"
        if _holds_29_february(rate.since_on, addition.on):
            words += f" ({policy.DAYS_IN_LEAP_YEARS})"
        return words

    def _window(self, addition: Addition, rate: Rate) -> str:
        since_on, first = rate.since_on or addition.on, self._first_from
        words = f"from {since_on} to {addition.on}"
        if rate.days == self._period_days:
            words += f" ({policy.WINDOW_INCLUDES_ITS_DAY})"
            if first is not None and since_on < first.day:
                words += f" ({policy.LATER_WINDOWS_REACH_BACK})"
        elif since_on == addition.epoch_started_on:
            words += f" ({policy.WINDOW_BEGINS_ANEW})"
        elif first is not None:
            words += f" (first calculation, {first.citation})"
        return words

    def _comparison(self, addition: Addition, rate: Rate, percent: Decimal, threshold: Row) -> str:
        """Over or not, with what a person who reckons again may stumble over."""
        is_at = not rate.is_over and percent == threshold.number
        side = "over" if rate.is_over else "at" if is_at else "not over"
        words = f"{side} the {threshold.in_words} threshold for {self._category} ({threshold.citation})"
        if is_at:
            words += f"; {policy.OVER_IS_NOT_AT}, and {policy.RESOLUTION}"
        if addition.state.full_charge_mg != self._appliance.full_charge_mg:
            words += f"; {policy.CHARGE_IN_FORCE}"
        return words

    def _mass(self, addition: Addition, rate: Rate) -> str:
        """What counts: the event's net, and the sum it goes into."""
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
                f"{format_mass(addition.gross_mg - addition.purged_mg)} put back less "
                f"{format_mass(addition.removed_mg)} removed; {policy.NET_WITHIN_ONE_EVENT}"
            )
            if addition.net_mg == 0:
                notes.append(policy.NET_OF_NOTHING.wording)
        words = f"{format_mass(addition.net_mg)} added" + (f" ({'; '.join(notes)})" if notes else "")
        if rate.added_mg == addition.net_mg:
            return words
        if self._is_annualizing:
            return f"{words}, {format_mass(rate.added_mg)} so far for the leak {addition.leak}"
        return f"{words}, {format_mass(rate.added_mg)} in all"


def _holds_29_february(since_on: date, on: date) -> bool:
    """Whether a 29 February lies in the days after ``since_on`` up to ``on``."""
    years = range(since_on.year, on.year + 1)
    return any(isleap(year) and since_on < date(year, 2, 29) <= on for year in years)
