"""The figures of the annual leak rate report without its sentences: of each appliance, of each site, of all.

Small enough to be held for a hundred thousand appliances. Nothing here reads the database.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from compliance.rulebook.results import Assessment, LeakRate, Obligation, ObligationKind

#: Kept for the record, not owed to anyone by a date that a reader would act on.
KINDS_LEFT_OUT = frozenset({ObligationKind.RECORD_RETENTION})


class RefrigerantTotal(NamedTuple):
    """The year's gross masses of one refrigerant."""

    designation: str
    added_mg: int
    removed_mg: int


Totals = tuple[RefrigerantTotal, ...]


class RateFigures(NamedTuple):
    """A leak rate of the year without its arithmetic."""

    on: date
    rule: str
    event: str | None
    added_mg: int
    days: int
    percent_rounded: Decimal
    threshold_pct: Decimal
    exceeds: bool


class ClockCount(NamedTuple):
    """How many obligations of a kind stand in one way."""

    kind: str
    status: str
    number: int


class ApplianceFigures(NamedTuple):
    """One appliance's year; refrigerant and full charge are those in force at its end.

    ``is_covered`` says whether a rule with a leak rate applies; ``is_chronic`` whether the year's additions reached
    125 % of the full charge (40 CFR 82.157(j), 84.106(j)). Clocks count where they opened, fell due or were met in
    the year.
    """

    appliance_id: int
    refrigerant: str
    full_charge_mg: int
    is_covered: bool
    is_chronic: bool
    rates: tuple[RateFigures, ...]
    clocks: tuple[ClockCount, ...]
    gross: Totals

    @property
    def added_mg(self) -> int:
        """All that was added, of every refrigerant that it had in the year."""
        return sum(total.added_mg for total in self.gross)

    @property
    def removed_mg(self) -> int:
        """All that was removed, likewise."""
        return sum(total.removed_mg for total in self.gross)

    @property
    def highest(self) -> RateFigures | None:
        """The year's highest leak rate as it is printed; the first of equals."""
        return max(self.rates, key=lambda rate: rate.percent_rounded, default=None)

    @property
    def is_over(self) -> bool:
        """Whether any rate of the year was over its threshold."""
        return any(rate.exceeds for rate in self.rates)


@dataclass(frozen=True)
class YearFigures:
    """The figures of all appliances that are asked about, and their sums.

    ``calculated_count`` says for how many no stored answer held, so that they were calculated from their records.
    """

    appliances: tuple[ApplianceFigures, ...]
    calculated_count: int = 0

    @cached_property
    def by_id(self) -> dict[int, ApplianceFigures]:
        """The same by the appliance's number."""
        return {row.appliance_id: row for row in self.appliances}

    @property
    def covered_count(self) -> int:
        """Appliances to which a rule with a leak rate applies."""
        return sum(row.is_covered for row in self.appliances)

    @cached_property
    def over(self) -> list[ApplianceFigures]:
        """Appliances with a rate over the threshold in the year."""
        return [row for row in self.appliances if row.is_over]

    @property
    def chronic_count(self) -> int:
        """Appliances to which 125 % of their full charge or more was added in the year."""
        return sum(row.is_chronic for row in self.appliances)

    @property
    def rate_count(self) -> int:
        """How many leak rates were calculated for the year."""
        return sum(len(row.rates) for row in self.appliances)

    @cached_property
    def totals(self) -> Totals:
        """The gross masses by refrigerant."""
        return summed(total for row in self.appliances for total in row.gross)

    @cached_property
    def clocks(self) -> tuple[ClockCount, ...]:
        """How many clocks of each kind stand in which way."""
        counts: Counter[tuple[str, str]] = Counter()
        for row in self.appliances:
            for kind, status, number in row.clocks:
                counts[kind, status] += number
        return counted(counts)


def summed(totals: Iterable[RefrigerantTotal]) -> Totals:
    """Masses by refrigerant, without one of which nothing moved in the end."""
    sums: dict[str, tuple[int, int]] = {}
    for designation, added_mg, removed_mg in totals:
        added, removed = sums.get(designation, (0, 0))
        sums[designation] = (added + added_mg, removed + removed_mg)
    return tuple(
        RefrigerantTotal(designation, *masses) for designation, masses in sorted(sums.items()) if any(masses)
    )


def counted(counts: Counter[tuple[str, str]]) -> tuple[ClockCount, ...]:
    """Counts by kind and status as rows in order."""
    return tuple(ClockCount(kind, status, number) for (kind, status), number in sorted(counts.items()))


def rates_of(assessment: Assessment, year: int) -> tuple[LeakRate, ...]:
    """The leak rates that the rulebook calculated for a year, in order."""
    return tuple(rate for rate in assessment.leak_rates if rate.on.year == year)


def clocks_of(assessment: Assessment, year: int) -> tuple[Obligation, ...]:
    """The obligations that opened, fell due or were met in a year, in order."""
    return tuple(
        row for row in assessment.obligations if row.kind not in KINDS_LEFT_OUT and _touches(row, year)
    )


def _touches(row: Obligation, year: int) -> bool:
    days = (row.opened_on, row.due_on, row.met_on)
    return any(day is not None and day.year == year for day in days)


def figures_of(
    appliance_id: int,
    assessment: Assessment,
    *,
    year: int,
    refrigerant: str,
    full_charge_mg: int,
    gross: Totals,
) -> ApplianceFigures:
    """The figures of a calculated answer.

    Args:
        appliance_id: whose answer it is.
        assessment: the rulebook's.
        year: the calendar year.
        refrigerant: the designation in force at the year's end.
        full_charge_mg: likewise.
        gross: what was put in and taken out in the year.
    """
    clocks = clocks_of(assessment, year)
    return ApplianceFigures(
        appliance_id=appliance_id,
        refrigerant=refrigerant,
        full_charge_mg=full_charge_mg,
        is_covered=bool(assessment.applies),
        is_chronic=any(
            row.kind == ObligationKind.CHRONIC_LEAK_REPORT and row.opened_on.year == year for row in clocks
        ),
        rates=tuple(
            RateFigures(
                rate.on,
                rate.rule,
                rate.event,
                rate.added_mg,
                rate.days,
                rate.percent_rounded,
                rate.threshold_pct,
                rate.exceeds,
            )
            for rate in rates_of(assessment, year)
        ),
        clocks=counted(Counter((row.kind.value, row.status.value) for row in clocks)),
        gross=gross,
    )
