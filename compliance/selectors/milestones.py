"""When to remind of what is owed or runs out: the officer's plan for its kind, else the portal's own.

The days are the portal's and the officer's choice; no law asks for reminders.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.models import ReminderPlan
from compliance.rulebook.expiries import ExpiryKind
from compliance.rulebook.results import ObligationKind


@dataclass(frozen=True)
class MilestonePlan:
    """The days on which an obligation is reminded of.

    Attributes:
        effective_from: the first day on which reminders follow it.
        kinds: the kinds it is for; all others if empty.
        days_before: counted back from the due date, the largest first; 0 is the day itself.
        daily_overdue_days: reminders follow each day until this many days after the due date,
        overdue_every_days: and from then on at this interval.
        escalate_after_days: the officers are told when nobody acknowledged a reminder for so long; None: they aren't.
        decision: the officer's decision that it is; None for the portal's own.
    """

    effective_from: datetime.date
    kinds: tuple[str, ...] = ()
    days_before: tuple[int, ...] = (14, 7, 3, 1, 0)
    daily_overdue_days: int = 14
    overdue_every_days: int = 7
    escalate_after_days: int | None = 3
    decision: ReminderPlan | None = None

    @property
    def is_own(self) -> bool:
        """Whether it is the portal's own."""
        return self.decision is None


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
    # A course, an examination or a laboratory takes weeks; what has run out is laid aside and nags less often.
    MilestonePlan(
        _START_ON,
        tuple(ExpiryKind),
        days_before=(90, 60, 30, 14, 7, 1, 0),
        daily_overdue_days=0,
        overdue_every_days=14,
        escalate_after_days=7,
    ),
)
# Keeping records is a date that passes by itself: never an alert.
NEVER_REMINDED = frozenset({ObligationKind.RECORD_RETENTION})


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


class PlanBook:
    """The plans of all kinds, read once."""

    def __init__(self, decisions: Iterable[ReminderPlan]) -> None:
        self._decided: dict[str, list[MilestonePlan]] = {}
        for row in sorted(decisions, key=lambda row: (row.effective_from, row.pk)):
            self._decided.setdefault(row.kind, []).append(_plan_of(row))

    def plan(self, kind: str, on: datetime.date) -> MilestonePlan:
        """The plan in force for a kind on a day: the officer's newest, else the portal's own."""
        decided = [plan for plan in self._decided.get(kind, ()) if plan.effective_from <= on]
        return decided[-1] if decided else own_plan(kind, on)

    def reached(self, kind: str, due_on: datetime.date, today: datetime.date) -> Milestone | None:
        """The newest milestone that a day has reached by the plan in force on it; None before the first.

        Args:
            kind: of the obligation.
            due_on: its due date.
            today: the date at the site.
        """
        if kind in NEVER_REMINDED:
            return None
        return milestone_reached(self.plan(kind, today), (due_on - today).days)

    @property
    def longest_notice_days(self) -> int:
        """No plan, in force or to come, reminds earlier than so many days before a due date."""
        decided = [plan for plans in self._decided.values() for plan in plans]
        return max(plan.days_before[0] for plan in (*PLANS, *decided))


def plan_book() -> PlanBook:
    """The plans as they are on record now."""
    return PlanBook(ReminderPlan.objects.select_related("decided_by"))


def own_plan(kind: str, on: datetime.date) -> MilestonePlan:
    """The portal's own plan for a kind on a day; before the first one, the first."""
    plans = [plan for plan in PLANS if kind in plan.kinds or not plan.kinds]
    in_force = [plan for plan in plans if plan.effective_from <= on] or plans[:1]
    return max(in_force, key=lambda plan: (bool(plan.kinds), plan.effective_from))


def milestone_reached(plan: MilestonePlan, days_left: int) -> Milestone | None:
    """The newest milestone of a plan that is reached so many days before the due date, or None before the first.

    A milestone that nobody was reminded of on its own day, such as when the portal stood still, is thus made up for
    by the newest alone.

    Args:
        plan: the plan.
        days_left: until the due date; negative once it has passed.
    """
    if (overdue := _newest_overdue(plan, -days_left)) > 0:
        return Milestone(-overdue)
    reached = [days for days in plan.days_before if days >= days_left]
    return Milestone(min(reached)) if reached else None


def milestones_ahead(plan: MilestonePlan, days_left: int, *, count: int) -> list[Milestone]:
    """The next milestones of a plan after the day that is so many days before the due date, the soonest first.

    Args:
        plan: the plan.
        days_left: until the due date; negative once it has passed.
        count: how many to tell.
    """
    before = [Milestone(days) for days in plan.days_before if days < days_left]
    ahead = before[:count]
    overdue = max(-days_left, 0)
    while len(ahead) < count:
        overdue += 1
        if _newest_overdue(plan, overdue) == overdue:
            ahead.append(Milestone(-overdue))
    return ahead


def _newest_overdue(plan: MilestonePlan, overdue: int) -> int:
    """How long overdue a thing was at the newest reminder of that; 0 or less where there was none yet."""
    if overdue <= plan.daily_overdue_days:
        return overdue
    return overdue - (overdue - plan.daily_overdue_days) % plan.overdue_every_days


def _plan_of(row: ReminderPlan) -> MilestonePlan:
    return MilestonePlan(
        effective_from=row.effective_from,
        kinds=(row.kind,),
        days_before=tuple(row.days_before),
        daily_overdue_days=row.daily_overdue_days,
        overdue_every_days=row.overdue_every_days,
        escalate_after_days=row.escalate_after_days,
        decision=row,
    )
