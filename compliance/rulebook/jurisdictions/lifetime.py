"""From when to when a rule asks something of an appliance, as its refrigerant and charge change."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cache

from compliance.rulebook.duties import Ending
from compliance.rulebook.editions import OncePerEdition
from compliance.rulebook.grounds import Ground
from compliance.rulebook.results import RuleVerdict
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import State, Timeline


class Reach:
    """A rule's verdict on each state of an appliance, asked once for each state and edition of the tables."""

    def __init__(self, rule: str, tables: Tables, verdict: Callable[[State, date], RuleVerdict]) -> None:
        self._rule = rule
        self._tables = tables
        self._verdict = verdict
        # By the state's identity: states are few, and kept here so that none takes another's place.
        self._known: OncePerEdition[int, tuple[State, RuleVerdict]] = OncePerEdition(rule, tables)

    def verdict(self, state: State, on: date) -> RuleVerdict:
        """Whether the rule applies to the appliance in a state on a day, and why."""
        return self._known.get(id(state), on, lambda: (state, self._verdict(state, on)))[1]

    def applies(self, state: State, on: date) -> bool:
        """Whether the rule applies to the appliance in a state on a day."""
        return self.verdict(state, on).is_applicable

    def along(self, timeline: Timeline) -> list[tuple[date, bool]]:
        """Whether the rule applied on each day of a fact on which that may have changed, and on the day asked about."""
        days: list[tuple[date, bool]] = []
        state, next_on = None, date.min
        for moment in timeline.moments:
            on = moment.fact.on
            if moment.state is not state or on >= next_on:
                state, next_on = moment.state, self._tables.edition(self._rule, on)[1]
                days.append((on, self.applies(state, on)))
        return [*days, (timeline.as_of, self.applies(timeline.final_state, timeline.as_of))]

    def scope(self, timeline: Timeline) -> Callable[[date], tuple[Ground, ...]]:
        """Which rows bring the appliance within the rule on a day: those of its state that day and of its last one.

        The last state under the rule counts too: by it, what came to be owed is owed still.
        """
        begins_on = self._tables.effective_from(self._rule)

        @cache
        def last_known() -> tuple[Ground, ...]:
            states = [timeline.final_state, *(moment.state for moment in reversed(timeline.moments))]
            days = [timeline.as_of, *(moment.fact.on for moment in reversed(timeline.moments))]
            verdicts = (self.verdict(state, on) for state, on in zip(states, days, strict=True))
            return next((verdict.rests_on for verdict in verdicts if verdict.is_applicable), ())

        def on_day(on: date) -> tuple[Ground, ...]:
            verdict = self.verdict(timeline.state_on(on), max(on, begins_on))
            return (*(verdict.rests_on if verdict.is_applicable else ()), *last_known())

        return on_day


@dataclass(frozen=True)
class Lifetime:
    """``ever`` says whether the rule applied at any fact or does now; ``ended_on`` when it ceased for good.

    ``began_on`` is the day of the change of refrigerant or charge that first brought the appliance within its reach,
    ``None`` where it was so from the start.
    """

    ever: bool
    began_on: date | None
    ended_on: date | None
    is_retired: bool

    def start(self, installed_on: date | None) -> date | None:
        """The day from which the rule counts: the installation, or the change that began it."""
        days = [on for on in (installed_on, self.began_on) if on is not None]
        return max(days, default=None)

    def runs_on(self, on: date) -> bool:
        """Whether the rule asks for something on a day: it has begun for the appliance and not ended."""
        return (self.began_on is None or self.began_on <= on) and not self.has_ended(on)

    def has_ended(self, on: date) -> bool:
        """Whether the rule had ceased for good, or the appliance been retired, by a day."""
        return self.ended_on is not None and self.ended_on <= on

    def ending(self, due_on: date | None) -> Ending | None:
        """Why a duty due after the end, or without a date, is no longer owed; one due earlier stays."""
        if self.ended_on is None or (due_on is not None and due_on <= self.ended_on):
            return None
        how = "The appliance was retired" if self.is_retired else "The rule ceased to apply"
        return Ending(self.ended_on, f"{how} on {self.ended_on}.")


def lifetime(timeline: Timeline, reach: Reach) -> Lifetime:
    """Looks at the state at each fact and on the day asked about; retirement ends every rule."""
    days = reach.along(timeline)
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
        began_on=_began_on(timeline, reach),
        ended_on=retired_on if is_retired else ended_on,
        is_retired=is_retired,
    )


def _began_on(timeline: Timeline, reach: Reach) -> date | None:
    """Judged by the tables of the day asked about: a rule that came into force later reached no other appliances."""
    if reach.applies(timeline.initial_state, timeline.as_of):
        return None
    return next(
        (moment.fact.on for moment in timeline.changes if reach.applies(moment.state, timeline.as_of)), None
    )
