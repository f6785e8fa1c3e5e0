"""When to remind of an obligation: one dated table, and the milestone that a day has reached.

The days are the portal's own choice; no law asks for reminders.
"""

import datetime
from dataclasses import dataclass

from compliance.rulebook.results import ObligationKind


@dataclass(frozen=True)
class MilestonePlan:
    """The days on which an obligation is reminded of.

    Attributes:
        effective_from: the first day on which reminders follow it.
        kinds: the kinds it is for; all others if empty.
        days_before: counted back from the due date; 0 is the day itself.
        daily_overdue_days: reminders follow each day until this many days after the due date,
        weekly_days: and from then on at this interval.
    """

    effective_from: datetime.date
    kinds: tuple[ObligationKind, ...] = ()
    days_before: tuple[int, ...] = (14, 7, 3, 1, 0)
    daily_overdue_days: int = 14
    weekly_days: int = 7


_START_ON = datetime.date(2020, 1, 1)

# A change is a further row. Of those in force, the newest that names the kind counts, then the newest that names none.
PLANS = (
    MilestonePlan(_START_ON),
    # These take months to do; two weeks' notice would come too late.
    MilestonePlan(
        _START_ON, (ObligationKind.RETROFIT_OR_RETIREMENT,), days_before=(90, 60, 30, 14, 7, 3, 1, 0)
    ),
    MilestonePlan(
        _START_ON,
        (ObligationKind.CHRONIC_LEAK_REPORT, ObligationKind.ANNUAL_REPORT),
        days_before=(30, 14, 7, 3, 1, 0),
    ),
)
# Keeping records is a date that passes by itself: never an alert.
NEVER_REMINDED = frozenset({ObligationKind.RECORD_RETENTION})

LONGEST_NOTICE_DAYS = max(plan.days_before[0] for plan in PLANS)


@dataclass(frozen=True)
class Milestone:
    """A day that an obligation is reminded of: days until the due date, negative once it has passed."""

    days_left: int

    @property
    def name(self) -> str:
        """The milestone's name in a reminder's row."""
        if self.days_left == 0:
            return "on the day"
        days = "1 day" if abs(self.days_left) == 1 else f"{abs(self.days_left)} days"
        return f"{days} before" if self.days_left > 0 else f"{days} overdue"


def milestone_reached(kind: str, due_on: datetime.date, today: datetime.date) -> Milestone | None:
    """The newest milestone that a day has reached, or None before the first.

    A milestone that nobody was reminded of on its own day, such as when the portal stood still, is thus made up for
    by the newest alone.

    Args:
        kind: of the obligation.
        due_on: its due date.
        today: the date at the site.
    """
    if kind in NEVER_REMINDED:
        return None
    plan = _plan(kind, today)
    days_left = (due_on - today).days
    if days_left >= 0:
        reached = [days for days in plan.days_before if days >= days_left]
        return Milestone(min(reached)) if reached else None
    overdue = -days_left
    if overdue > plan.daily_overdue_days:
        overdue -= (overdue - plan.daily_overdue_days) % plan.weekly_days
    return Milestone(-overdue)


def _plan(kind: str, today: datetime.date) -> MilestonePlan:
    """The plan in force for a kind; before the first one, the first."""
    plans = [plan for plan in PLANS if kind in plan.kinds or not plan.kinds]
    in_force = [plan for plan in plans if plan.effective_from <= today] or plans[:1]
    return max(in_force, key=lambda plan: (bool(plan.kinds), plan.effective_from))
