"""Leak rates and headroom of the two US federal rules, counted from the formulas with exact fractions.

Source: 40 CFR 82.152 (leak rate), 82.157(b), (c); 84.106(b), (c). Written from the law and the choices alone.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import floor

from tests.oracle.named_leaks import orders_of_whole_follow_ups
from tests.oracle.records import Charge, Json, State, Unsettled, charges, read_facts, states

ODS, HFC = "us-federal-ods", "us-federal-hfc"
EFFECTIVE = {ODS: date(2020, 4, 10), HFC: date(2026, 1, 1)}
# 40 CFR 82.157(c)(2), 84.106(c)(2), in percent.
THRESHOLDS = {"industrial_process_refrigeration": 30, "commercial_refrigeration": 20}
OTHERWISE = 10
POUND_MG = Fraction(45_359_237, 100)
# What each refrigerant of the histories holds: a class I or II substance, a regulated hydrofluorocarbon.
HOLDS = {
    "R-22": (True, False),
    "R-12": (True, False),
    "R-402A": (True, True),
    "R-401A": (True, True),
    "R-410A": (False, True),
    "R-404A": (False, True),
    "R-454B": (False, True),
    "R-744": (False, False),
}


@dataclass(frozen=True)
class Rate:
    on: date
    rule: str
    order: int
    added_mg: int
    days: int
    percent: Fraction
    threshold: int
    exceeds: bool


def reached(mass_mg: int, bound_mg: Fraction, entries: int) -> bool:
    """Whether a sum reaches a bound, within one milligram for each entry."""
    return mass_mg + entries >= bound_mg


def is_subject(rule: str, request: Json, state: State, on: date) -> bool:
    """Whether the rule reaches the appliance in this state on this day."""
    ozone_depleting, hydrofluorocarbon = HOLDS[state.refrigerant]
    if on < EFFECTIVE[rule]:
        return False
    if rule == ODS:
        return ozone_depleting and reached(state.full_charge_mg, 50 * POUND_MG, 1)
    exempt = request["appliance"].get("residential_or_light_commercial", False)
    return hydrofluorocarbon and not exempt and reached(state.full_charge_mg, 15 * POUND_MG, 1)


def threshold_of(request: Json) -> int:
    return THRESHOLDS.get(request["appliance"]["category"], OTHERWISE)


class LeakRates:
    """The rows of one rule, and what the largest further addition would be."""

    def __init__(self, request: Json, rule: str) -> None:
        self.request, self.rule = request, rule
        self.facts = read_facts(request)
        self.states = states(request, self.facts)
        self.charges = charges(self.facts)
        self.rolling = request["appliance"]["leak_rate_method"] == "rolling_average"
        self.whole_follow_ups = orders_of_whole_follow_ups(self.facts)
        self.rows: list[Rate] = []
        self.first: Charge | None = None
        for charge in self.charges:
            if charge.is_service and is_subject(rule, request, self.states[charge.order], charge.on):
                self.first = self.first or charge
                self.rows.append(self._row(charge))

    def _row(self, charge: Charge) -> Rate:
        counted, days = self._counted(charge)
        added = sum(max(0, one.net_mg) for one in counted)
        full = self.states[charge.order].full_charge_mg
        threshold = threshold_of(self.request)
        year_part = Fraction(1) if self.rolling else Fraction(days, 365)
        limit = full * Fraction(threshold, 100) * year_part
        # One milligram for each entry; where the removals of an event would tip it, no answer is demanded.
        few = sum(one.additions for one in counted)
        many = few + sum(one.other_entries for one in counted)
        if (added > limit + few) != (added > limit + many):
            raise Unsettled("whether removals are entries")
        percent = Fraction(added, full) / year_part * 100
        return Rate(charge.on, self.rule, charge.order, added, days, percent, threshold, added > limit + few)

    def _counted(self, charge: Charge) -> tuple[list[Charge], int]:
        if self.rolling:
            return self._rolling(charge.on, charge.order, is_first=charge is self.first)
        group = [charge]
        if charge.leak is not None:
            group = [one for one in self.charges if one.leak == charge.leak and one.order <= charge.order]
        if self.rule == HFC and charge is self.first:
            return group, 365
        start = group[0]
        return group, self._days_between(
            start.on, [one.on for one in self.charges if one.order < start.order]
        )

    def _days_between(self, until: date, earlier: list[date]) -> int:
        if earlier:
            return min(365, max(1, (until - max(earlier)).days))
        installed = self.request["appliance"].get("installed_on")
        if installed is None:
            return 365
        return min(365, max(1, (until - date.fromisoformat(installed)).days))

    def _rolling(self, on: date, order: int, *, is_first: bool) -> tuple[list[Charge], int]:
        start, after_order = on - timedelta(days=364), -1
        if self.rule == HFC and is_first:
            start = max(start, EFFECTIVE[HFC])
        for fact in self.facts:
            starts_anew = fact.order in self.whole_follow_ups or fact.kind == "retrofitted"
            if fact.order < order and starts_anew and fact.on >= start:
                start, after_order = fact.on, fact.order
        window = [
            one
            for one in self.charges
            if one.is_service and start <= one.on and after_order < one.order <= order
        ]
        return window, (on - start).days + 1

    def headroom_mg(self) -> int | None:
        """The largest further addition on the day asked that stays at or under the threshold, a new leak by itself."""
        as_of = date.fromisoformat(self.request["as_of"])
        state = self.states[-1]
        if not is_subject(self.rule, self.request, state, as_of):
            return None
        limit = state.full_charge_mg * Fraction(threshold_of(self.request), 100)
        no_calculation_yet = self.first is None
        if self.rolling:
            counted, _ = self._rolling(as_of, len(self.facts), is_first=no_calculation_yet)
            return max(0, floor(limit - sum(max(0, one.net_mg) for one in counted)))
        if self.rule == HFC and no_calculation_yet:
            return floor(limit)
        return floor(limit * Fraction(self._days_between(as_of, [one.on for one in self.charges]), 365))
