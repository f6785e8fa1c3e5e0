"""From when to when a rule asks something of an appliance, as its refrigerant and charge change."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from compliance.rulebook.timeline import State, Timeline

AppliesOn = Callable[[State, date], bool]


@dataclass(frozen=True)
class Lifetime:
    """``ever`` says whether the rule applied at any fact or does now; ``ended_on`` when it ceased for good."""

    ever: bool
    ended_on: date | None


def lifetime(timeline: Timeline, applies_on: AppliesOn) -> Lifetime:
    """Looks at the state at each fact and on the day asked about; retirement ends every rule."""
    days = [(moment.fact.on, applies_on(moment.state, moment.fact.on)) for moment in timeline.moments]
    days.append((timeline.as_of, applies_on(timeline.final_state, timeline.as_of)))
    ended_on = None
    for on, is_applicable in days:
        if is_applicable:
            ended_on = None
        elif ended_on is None:
            ended_on = on
    return Lifetime(any(is_applicable for _, is_applicable in days), timeline.retired_on or ended_on)
