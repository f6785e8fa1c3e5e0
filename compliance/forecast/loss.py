"""What an appliance has lost between its charges: one interval from each charge to the next, from its facts."""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from compliance.rulebook.facts import Fact, FactKind

# The estimate's own choices; no law asks for it.
REACHES_BACK = timedelta(days=3 * 365)
MOST_INTERVALS = 8

_MASSES = (FactKind.ADDITION, FactKind.REMOVAL)


@dataclass(frozen=True)
class LossInterval:
    """From one charge to the next: what the later one put back is taken for what was lost in between."""

    begins_on: date
    ends_on: date
    lost_mg: int

    @property
    def days(self) -> int:
        """Its length, at least one day."""
        return (self.ends_on - self.begins_on).days

    @property
    def mg_per_day(self) -> Fraction:
        """The mean loss, exact."""
        return Fraction(self.lost_mg, self.days)


@dataclass(frozen=True)
class _Charge:
    """Refrigerant added on a day; ``lost_mg`` is what of it replaced a loss, in service and net of what came out."""

    on: date
    lost_mg: int


def loss_intervals(facts: Iterable[Fact], as_of: date) -> list[LossInterval]:
    """The newest intervals that end in the three years before a day, oldest first, since the last retrofit.

    Every charge is taken to fill the appliance to its full charge, as the leak rate itself does (40 CFR 82.152).
    What one event takes out and puts back counts by its net, and a net of nothing is no charge. Charges on
    installation, at a retrofit or for the season begin an interval and replace no loss. What went in on one day
    counts together.

    Args:
        facts: in any order; those after ``as_of`` don't count.
        as_of: the day asked about.
    """
    charges = _charges([fact for fact in facts if fact.on <= as_of])
    intervals = [
        LossInterval(before.on, after.on, after.lost_mg)
        for before, after in itertools.pairwise(charges)
        if after.lost_mg > 0 and after.on >= as_of - REACHES_BACK
    ]
    return intervals[-MOST_INTERVALS:]


def last_charged_on(facts: Iterable[Fact], as_of: date) -> date | None:
    """The last day up to a day on which refrigerant was added, none if it never was."""
    charges = _charges([fact for fact in facts if fact.on <= as_of])
    return charges[-1].on if charges else None


def _charges(facts: Sequence[Fact]) -> list[_Charge]:
    retrofitted_on = max((fact.on for fact in facts if fact.kind is FactKind.RETROFITTED), default=date.min)
    lost_mg: dict[date, int] = {}
    for fact in _added(facts):
        if fact.on >= retrofitted_on:
            lost_mg.setdefault(fact.on, 0)
    for (on, _), net_mg in _nets(facts).items():
        if net_mg > 0 and on >= retrofitted_on:
            lost_mg[on] = lost_mg.get(on, 0) + net_mg
    return [_Charge(on, lost_mg[on]) for on in sorted(lost_mg)]


def _added(facts: Iterable[Fact]) -> Iterable[Fact]:
    """Additions that fill the appliance without replacing a loss."""
    return (fact for fact in facts if fact.kind is FactKind.ADDITION and fact.reason != "service")


def _nets(facts: Iterable[Fact]) -> dict[tuple[date, str | None], int]:
    """What each event put in for service less what it took out; without an event's name, each day's."""
    nets: dict[tuple[date, str | None], int] = {}
    for fact in facts:
        if fact.kind in _MASSES and fact.reason == "service":
            sign = 1 if fact.kind is FactKind.ADDITION else -1
            counted_mg = (fact.mass_mg or 0) - fact.purged_and_destroyed_mg
            nets[fact.on, fact.event] = nets.get((fact.on, fact.event), 0) + sign * counted_mg
    return nets
