"""From when to when a rule asks something of an appliance, as its refrigerant and charge change."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from compliance.rulebook.duties import Ending
from compliance.rulebook.results import RuleVerdict
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import State, Timeline


class Reach:
    """A rule's verdict on each state of an appliance, asked once while neither the state nor the tables change."""

    def __init__(self, rule: str, tables: Tables, verdict: Callable[[State, date], RuleVerdict]) -> None:
        self._rule = rule
        self._tables = tables
        self._verdict = verdict
        self._last: tuple[State, int, RuleVerdict] | None = None

    def verdict(self, state: State, on: date) -> RuleVerdict:
        """Whether the rule applies to the appliance in a state on a day, and why."""
        edition = self._tables.edition(self._rule, on)
        if self._last is None or self._last[0] is not state or self._last[1] != edition:
            self._last = (state, edition, self._verdict(state, on))
        return self._last[2]

    def applies(self, state: State, on: date) -> bool:
        """Whether the rule applies to the appliance in a state on a day."""
        return self.verdict(state, on).is_applicable


@dataclass(frozen=True)
class Lifetime:
    """``ever`` says whether the rule applied at any fact or does now; ``ended_on`` when it ceased for good."""

    ever: bool
    ended_on: date | None
    is_retired: bool

    def runs_on(self, on: date) -> bool:
        """Whether the rule still asks for something on a day."""
        return self.ended_on is None or on < self.ended_on

    def ending(self, due_on: date | None) -> Ending | None:
        """Why a duty due after the end, or without a date, is no longer owed; one due earlier stays."""
        if self.ended_on is None or (due_on is not None and due_on <= self.ended_on):
            return None
        how = "The appliance was retired" if self.is_retired else "The rule ceased to apply"
        return Ending(self.ended_on, f"{how} on {self.ended_on}.")


def lifetime(timeline: Timeline, reach: Reach) -> Lifetime:
    """Looks at the state at each fact and on the day asked about; retirement ends every rule."""
    days = [
        *((moment.fact.on, reach.applies(moment.state, moment.fact.on)) for moment in timeline.moments),
        (timeline.as_of, reach.applies(timeline.final_state, timeline.as_of)),
    ]
    ended_on = None
    for on, is_applicable in days:
        if is_applicable:
            ended_on = None
        elif ended_on is None:
            ended_on = on
    retired_on = timeline.retired_on
    is_retired = retired_on is not None and (ended_on is None or retired_on <= ended_on)
    return Lifetime(
        ever=any(is_applicable for _, is_applicable in days),
        ended_on=retired_on if is_retired else ended_on,
        is_retired=is_retired,
    )
