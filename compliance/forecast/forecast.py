"""When the next charge is due at the present loss, and whether its leak rate would go over a threshold.

An estimate from an appliance's own history, and never a finding: each interval of the past is taken once as what the
present one may be like. Nothing is fitted, so that a person can redo it with a pocket calculator.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from math import ceil
from statistics import median_low

from compliance.forecast.loss import LossInterval, last_charged_on, loss_intervals
from compliance.rulebook.assess import assess
from compliance.rulebook.facts import Appliance, Fact, FactKind
from compliance.rulebook.results import LeakRate

LEAST_INTERVALS = 2
SOON_DAYS = 90
# Loss so slow that no date of use follows from it.
FURTHEST = timedelta(days=20 * 365)
_EVENT = "forecast"


class NoForecast(StrEnum):
    """Why there is no estimate."""

    TOO_FEW_CHARGES = "too_few_charges"
    NOT_IN_USE = "not_in_use"
    LOSES_LESS = "loses_less"


@dataclass(frozen=True)
class Outcome:
    """The next charge if the appliance now loses what it lost in one interval of the past.

    ``rate`` is the leak rate that comes closest to its threshold or goes furthest over it; none where no rule
    calculates one.
    """

    interval: LossInterval
    on: date
    rate: LeakRate | None

    @property
    def exceeds(self) -> bool:
        """Whether that charge would go over a threshold."""
        return self.rate is not None and self.rate.exceeds


@dataclass(frozen=True)
class Forecast:
    """The next charge of an appliance.

    Attributes:
        as_of: the day asked about.
        charged_on: the day of the last charge; loss is counted from it.
        usual_mg: the mass of the usual charge, the middle one of the past (the lower of two).
        outcomes: one for each past interval that the present one has not outlasted, soonest first; at least one.
        outlasted: how many past intervals would have asked for the charge already.
        repaired_on: the last day since that charge on which a follow-up test of all leaks was passed, if any: the
            loss may be less now.
    """

    as_of: date
    charged_on: date
    usual_mg: int
    outcomes: tuple[Outcome, ...]
    outlasted: int
    repaired_on: date | None

    @property
    def middle(self) -> Outcome:
        """The outcome in the middle, the earlier of two."""
        return self.outcomes[(len(self.outcomes) - 1) // 2]

    @property
    def earliest_on(self) -> date:
        """The charge's day at the fastest loss."""
        return self.outcomes[0].on

    @property
    def latest_on(self) -> date:
        """The charge's day at the slowest loss."""
        return self.outcomes[-1].on

    @property
    def coverage(self) -> Fraction:
        """How often a further interval like these falls between the earliest and the latest: (n − 1) / (n + 1).

        The distribution-free prediction interval between the least and the greatest of n (H. A. David and
        H. N. Nagaraja, Order Statistics, 3rd ed., section 7.3; from memory).
        """
        count = len(self.outcomes)
        return Fraction(count - 1, count + 1)

    @property
    def over_count(self) -> int:
        """In how many outcomes the charge would go over a threshold."""
        return sum(1 for outcome in self.outcomes if outcome.exceeds)

    @property
    def over_soon_count(self) -> int:
        """In how many outcomes it would do so within 90 days."""
        last_on = self.as_of + timedelta(days=SOON_DAYS)
        return sum(1 for outcome in self.outcomes if outcome.exceeds and outcome.on <= last_on)


def forecast(
    appliance: Appliance, facts: Sequence[Fact], *, as_of: date, rules: Sequence[str]
) -> Forecast | NoForecast:
    """Estimate an appliance's next charge.

    The usual charge will be wanted when so much is lost; each past interval's mean loss gives a day for it. A day
    before ``as_of`` is dropped: no charge was needed on it. On each day left the rulebook calculates the leak rate
    of a charge of that mass, for a leak not on record, with the history that counts on that day.

    Args:
        appliance: the state before the first fact.
        facts: what happened, in legal order within each day.
        as_of: the day asked about, at the site.
        rules: names of ``rules.RULE_NAMES``.
    """
    known = [fact for fact in facts if fact.on <= as_of]
    if not _is_in_use(known):
        return NoForecast.NOT_IN_USE
    intervals = loss_intervals(known, as_of)
    charged_on = last_charged_on(known, as_of)
    if charged_on is None or len(intervals) < LEAST_INTERVALS:
        return NoForecast.TOO_FEW_CHARGES
    usual_mg = median_low([interval.lost_mg for interval in intervals])
    days = [(interval, charged_on + _lasts(usual_mg, interval)) for interval in intervals]
    left = sorted((on, interval.begins_on, interval) for interval, on in days if on >= as_of)
    if not left:
        return NoForecast.LOSES_LESS
    rates = {on: _rate(appliance, known, on, usual_mg, rules) for on, _, _ in left}
    return Forecast(
        as_of=as_of,
        charged_on=charged_on,
        usual_mg=usual_mg,
        outcomes=tuple(Outcome(interval, on, rates[on]) for on, _, interval in left),
        outlasted=len(intervals) - len(left),
        repaired_on=_repaired_on(known, charged_on),
    )


def _lasts(usual_mg: int, interval: LossInterval) -> timedelta:
    """The whole days until the usual charge is lost."""
    return min(FURTHEST, timedelta(days=ceil(usual_mg / interval.mg_per_day)))


def _rate(
    appliance: Appliance, facts: Sequence[Fact], on: date, mass_mg: int, rules: Sequence[str]
) -> LeakRate | None:
    charge = Fact(on=on, kind=FactKind.ADDITION, mass_mg=mass_mg, event=_EVENT)
    answer = assess(appliance, [*facts, charge], as_of=on, rules=rules)
    rates = [rate for rate in answer.leak_rates if rate.on == on and rate.event == _EVENT]
    return max(
        rates, key=lambda rate: (rate.exceeds, rate.percent / Fraction(rate.threshold_pct)), default=None
    )


def _is_in_use(facts: Sequence[Fact]) -> bool:
    """Whether the appliance is neither retired nor, since refrigerant was last added, mothballed."""
    is_mothballed = False
    for fact in sorted(facts, key=lambda fact: fact.on):
        if fact.kind is FactKind.RETIRED:
            return False
        if fact.kind is FactKind.MOTHBALLED:
            is_mothballed = True
        elif fact.kind in (FactKind.ADDITION, FactKind.RETURNED_TO_SERVICE):
            is_mothballed = False
    return not is_mothballed


def _repaired_on(facts: Sequence[Fact], since: date) -> date | None:
    return max(
        (
            fact.on
            for fact in facts
            if fact.kind is FactKind.FOLLOW_UP_VERIFICATION_TEST
            and fact.passed
            and fact.all_leaks
            and fact.on >= since
        ),
        default=None,
    )
