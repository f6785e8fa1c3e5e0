"""The reason of a leak rate in words and figures, so that a person redoes it with a pocket calculator."""

from calendar import isleap
from datetime import date
from decimal import Decimal

from compliance.rulebook import policy
from compliance.rulebook.additions import Addition
from compliance.rulebook.facts import Appliance, LeakRateMethod
from compliance.rulebook.leak_rate import IntervalBasis, Rate
from compliance.rulebook.masses import format_mass, shown_in_unit
from compliance.rulebook.policy import Choice
from compliance.rulebook.tables import Row, Tables


class RateWords:
    """Explains the rates of one appliance under one rule."""

    def __init__(self, rule: str, appliance: Appliance, tables: Tables, *, on: date) -> None:
        self._appliance = appliance
        self._category = appliance.category.in_words
        self._period_days = tables.row(rule, "annual_period", on=on).count
        self._first_interval = tables.find(rule, "first_calculation_interval", on=on)
        self._first_from = tables.find(rule, "first_calculation_from", on=on)

    def because(
        self,
        addition: Addition,
        rate: Rate,
        percent: Decimal,
        threshold: Row,
        *,
        method: LeakRateMethod,
        leak_from_on: date,
    ) -> str:
        """The mass that counts, the time it is taken over, the arithmetic, the side of the threshold; then the choices.

        ``method`` is the one in force for the addition; ``leak_from_on`` the day of the first addition for the same
        leak, which ends the annualized interval.
        """
        notes: list[Choice] = []
        is_annualizing = method is LeakRateMethod.ANNUALIZING
        mass = self._mass(addition, rate, notes, by_leak=is_annualizing)
        fraction = (
            f"{shown_in_unit(rate.added_mg, 'lb')} / {shown_in_unit(addition.state.full_charge_mg, 'lb')}"
        )
        if is_annualizing:
            span = self._interval(addition, rate, leak_from_on, notes)
            arithmetic = f"{fraction} × {self._period_days} / {rate.days} × 100"
        else:
            span = self._window(addition, rate, notes)
            arithmetic = f"{fraction} × 100"
        comparison = self._comparison(addition, rate, percent, threshold, method=method, notes=notes)
        sentences = [f"{mass}{span}: {arithmetic} = {percent} %, {comparison}."]
        return " ".join([*sentences, *(f"{note.sentence}." for note in notes)])

    def _mass(self, addition: Addition, rate: Rate, notes: list[Choice], *, by_leak: bool) -> str:
        """What counts: the event's net, and the sum it goes into."""
        words = f"{format_mass(addition.net_mg)} added"
        if addition.seasonal_mg or addition.purged_mg or addition.removed_mg:
            words = self._net_in_words(addition, words, notes)
        if rate.added_mg == addition.net_mg:
            return words
        if by_leak:
            return f"{words}, {format_mass(rate.added_mg)} so far for leak {addition.leak}"
        return f"{words}, {format_mass(rate.added_mg)} in all"

    def _net_in_words(self, addition: Addition, net_in_words: str, notes: list[Choice]) -> str:
        """What was put in, what of it doesn't count, and the net that is left."""
        less = [
            (addition.seasonal_mg, "of seasonal variance", policy.SEASONAL_EXCESS_IS_SERVICE),
            (addition.purged_mg, "purged and destroyed", None),
            (addition.removed_mg, "removed in the same event", policy.NET_WITHIN_ONE_EVENT),
        ]
        put_in_mg = addition.gross_mg + addition.seasonal_mg
        terms = "".join(f" − {format_mass(mass_mg)} {what}" for mass_mg, what, _ in less if mass_mg)
        notes += [choice for mass_mg, _, choice in less if mass_mg and choice is not None]
        if addition.net_mg == 0:
            notes.append(policy.NET_OF_NOTHING)
        return f"{format_mass(put_in_mg)} put in{terms} = {net_in_words}"

    def _interval(self, addition: Addition, rate: Rate, leak_from_on: date, notes: list[Choice]) -> str:
        days = "1 day" if rate.days == 1 else f"{rate.days} days"
        if rate.basis is IntervalBasis.FIRST_CALCULATION and self._first_interval is not None:
            return f"; the first calculation takes {days} ({self._first_interval.citation})"
        if rate.basis is IntervalBasis.NOTHING_KNOWN or rate.since_on is None:
            notes.append(policy.NOTHING_EARLIER_KNOWN)
            return f" in {days}"
        what = "refrigerant was last added"
        if rate.basis is IntervalBasis.INSTALLATION:
            what = "installation"
            notes.append(policy.NO_EARLIER_ADDITION)
        elapsed_days = (leak_from_on - rate.since_on).days
        if leak_from_on != addition.on:
            notes.append(policy.SAME_LEAK_IS_SUMMED)
        if elapsed_days > rate.days:
            notes.append(policy.INTERVAL_IS_CAPPED)
        elif elapsed_days < rate.days:
            notes.append(policy.ONE_DAY_AT_LEAST)
        elif _holds_29_february(rate.since_on, leak_from_on):
            notes.append(policy.DAYS_IN_LEAP_YEARS)
        until = "" if leak_from_on == addition.on else f", to the leak's first addition on {leak_from_on}"
        counted = "" if elapsed_days == rate.days else f", counted as {days}"
        elapsed = "1 day" if elapsed_days == 1 else f"{elapsed_days} days"
        return f"; {elapsed} since {what} on {rate.since_on}{until}{counted}"

    def _window(self, addition: Addition, rate: Rate, notes: list[Choice]) -> str:
        since_on, first = rate.since_on or addition.on, self._first_from
        words = f" from {since_on} to {addition.on}"
        if rate.days == self._period_days:
            notes.append(policy.WINDOW_INCLUDES_ITS_DAY)
            if first is not None and since_on < first.day:
                notes.append(policy.LATER_WINDOWS_REACH_BACK)
        elif since_on == addition.epoch_started_on:
            notes.append(policy.WINDOW_BEGINS_ANEW)
        elif first is not None:
            words += f", the first calculation ({first.citation})"
        return words

    def _comparison(
        self,
        addition: Addition,
        rate: Rate,
        percent: Decimal,
        threshold: Row,
        *,
        method: LeakRateMethod,
        notes: list[Choice],
    ) -> str:
        """Over or not, with what a person who reckons again may stumble over."""
        is_at = not rate.is_over and percent == threshold.number
        side = "over" if rate.is_over else "at" if is_at else "not over"
        if is_at:
            notes += [policy.OVER_IS_NOT_AT, policy.RESOLUTION]
        if addition.state.full_charge_mg != self._appliance.full_charge_mg:
            notes.append(policy.CHARGE_IN_FORCE)
        if method is not self._appliance.leak_rate_method:
            notes.append(policy.METHOD_FROM_ITS_DAY)
        return f"{side} the {threshold.in_words} threshold for {self._category} ({threshold.citation})"


def _holds_29_february(since_on: date, on: date) -> bool:
    """Whether a 29 February lies in the days after ``since_on`` up to ``on``."""
    years = range(since_on.year, on.year + 1)
    return any(isleap(year) and since_on < date(year, 2, 29) <= on for year in years)
