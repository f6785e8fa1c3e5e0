"""By which method a rule calculates leak rates: the facility's, and after a change the other one (84.106(b)(3))."""

from compliance.rulebook.facts import FactKind, LeakRateMethod
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import State, Timeline

KEY = "leak_rate_method_change"
CITATION_WITHOUT = "40 CFR 82.152, 82.157(b)"


class Methods:
    """The method of each state of an appliance under one rule, which may not know of changes.

    Source: 40 CFR 82.152, *Leak rate*; 40 CFR 84.106(b)(3).
    """

    def __init__(self, rule: str, timeline: Timeline, tables: Tables) -> None:
        self._timeline = timeline
        self._may_change = tables.find(rule, KEY, on=timeline.as_of) is not None

    def of(self, state: State) -> LeakRateMethod:
        """By which method an addition in this state is calculated."""
        return state.leak_rate_method if self._may_change else self._timeline.appliance.leak_rate_method

    @property
    def warnings(self) -> tuple[str, ...]:
        """The changes that the rule doesn't know."""
        if self._may_change:
            return ()
        return tuple(
            f"The change of the leak rate method on {fact.on} has no effect here: {CITATION_WITHOUT} know no change."
            for fact in self._timeline.of_kind(FactKind.LEAK_RATE_METHOD_CHANGE)
        )
