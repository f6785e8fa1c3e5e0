"""Facts of one appliance in order, with the state they leave it in; those after the day asked about are left out."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from operator import attrgetter

from compliance.rulebook.facts import Appliance, Fact, FactKind, LeakRateMethod
from compliance.rulebook.holding import AskedDay
from compliance.rulebook.refrigerants import Refrigerant

_day = attrgetter("on")


@dataclass(frozen=True)
class State:
    """What an appliance is at one point of its history."""

    refrigerant: Refrigerant
    full_charge_mg: int
    leak_rate_method: LeakRateMethod
    is_retired: bool = False

    @classmethod
    def before(cls, appliance: Appliance) -> "State":
        """What an appliance is before its first fact."""
        return cls(appliance.refrigerant, appliance.full_charge_mg, appliance.leak_rate_method)


@dataclass(frozen=True)
class Moment:
    """One fact, its place in the order, and the state once it has happened."""

    position: int
    fact: Fact
    state: State


@dataclass(frozen=True)
class Timeline:
    """Facts sorted by day, those of one day in the order given, up to and including ``as_of``.

    ``as_of`` is asked of as any date is; it keeps until when the answers stay the same. ``looks_ahead`` says whether
    the headroom is wanted.
    """

    appliance: Appliance
    as_of: AskedDay
    moments: tuple[Moment, ...]
    looks_ahead: bool = True

    @cached_property
    def initial_state(self) -> State:
        return State.before(self.appliance)

    @property
    def final_state(self) -> State:
        return self.moments[-1].state if self.moments else self.initial_state

    def state_on(self, on: date) -> State:
        """The state at the end of a day."""
        count = bisect_right(self._days, on)
        return self.moments[count - 1].state if count else self.initial_state

    @cached_property
    def changes(self) -> tuple[Moment, ...]:
        """The moments that left the appliance in another state than it was in."""
        return tuple(moment for moment in self.moments if moment.fact.kind in _CHANGES)

    def of_kind(self, *kinds: FactKind) -> list[Fact]:
        """The facts of these kinds, in order."""
        if len(kinds) == 1:
            return [moment.fact for moment in self._by_kind.get(kinds[0], ())]
        found = [moment for kind in kinds for moment in self._by_kind.get(kind, ())]
        return [moment.fact for moment in sorted(found, key=lambda moment: moment.position)]

    @cached_property
    def _days(self) -> list[date]:
        return [moment.fact.on for moment in self.moments]

    @cached_property
    def _by_kind(self) -> dict[FactKind, list[Moment]]:
        moments: dict[FactKind, list[Moment]] = {}
        for moment in self.moments:
            moments.setdefault(moment.fact.kind, []).append(moment)
        return moments

    @property
    def retired_on(self) -> date | None:
        return next((fact.on for fact in self.of_kind(FactKind.RETIRED)), None)


def build_timeline(
    appliance: Appliance, facts: Sequence[Fact], as_of: AskedDay, *, looks_ahead: bool = True
) -> Timeline:
    """Sorts the facts and follows full charge, refrigerant, leak rate method and retirement through them.

    A change of full charge or method and a retrofit hold from their place in their day on.
    """
    ordered = sorted(facts, key=_day)
    state = State.before(appliance)
    moments = []
    for position, fact in enumerate(ordered[: bisect_right(ordered, as_of, key=_day)]):
        if fact.kind in _CHANGES:
            state = _after(state, fact)
        moments.append(Moment(position, fact, state))
    return Timeline(appliance, as_of, tuple(moments), looks_ahead)


_CHANGES = (
    FactKind.FULL_CHARGE_CHANGE,
    FactKind.RETROFITTED,
    FactKind.RETIRED,
    FactKind.LEAK_RATE_METHOD_CHANGE,
)


def _after(state: State, fact: Fact) -> State:
    """The state that a change leaves; a retired appliance keeps its refrigerant and full charge."""
    if fact.kind is FactKind.LEAK_RATE_METHOD_CHANGE:
        return replace(state, leak_rate_method=LeakRateMethod(fact.method or state.leak_rate_method))
    return replace(
        state,
        full_charge_mg=fact.full_charge_mg or state.full_charge_mg,
        refrigerant=fact.refrigerant or state.refrigerant,
        is_retired=state.is_retired or fact.kind is FactKind.RETIRED,
    )
