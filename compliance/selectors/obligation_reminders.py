"""Who is reminded of one obligation and when, and what they were reminded of so far."""

import datetime
from dataclasses import dataclass
from itertools import groupby

from compliance.models import Obligation, Reminder
from compliance.selectors.milestones import (
    NEVER_REMINDED,
    Milestone,
    MilestonePlan,
    milestones_ahead,
    plan_book,
)
from compliance.selectors.reminders import PENDING

AHEAD = 4


@dataclass(frozen=True)
class DatedMilestone:
    """A milestone with its day at the site."""

    on: datetime.date
    milestone: Milestone


@dataclass(frozen=True)
class RaisedMilestone:
    """What was raised at one milestone of one due date: a row for each person and channel."""

    milestone: str
    due_on: datetime.date
    rows: list[Reminder]


@dataclass(frozen=True)
class ObligationReminders:
    """The plan that an obligation's reminders follow, the next days by it, and what was raised, newest first."""

    plan: MilestonePlan
    ahead: list[DatedMilestone]
    raised: list[RaisedMilestone]


def obligation_reminders(obligation: Obligation, today: datetime.date) -> ObligationReminders | None:
    """Gather an obligation's reminders; None where nobody is or was to be reminded.

    Args:
        obligation: the one asked about.
        today: the date at its site.
    """
    rows = Reminder.objects.filter(obligation_key=obligation.key).order_by("-raised_at", "-due_on", "pk")
    raised = [
        RaisedMilestone(milestone, due_on, list(members))
        for (milestone, due_on), members in groupby(rows, lambda row: (row.milestone, row.due_on))
    ]
    if obligation.kind in NEVER_REMINDED or not (raised or obligation.status in PENDING):
        return None
    plan = plan_book().plan(obligation.kind, today)
    ahead = []
    if obligation.status in PENDING and obligation.due_on:
        due_on = obligation.due_on
        ahead = [
            DatedMilestone(due_on - datetime.timedelta(days=milestone.days_left), milestone)
            for milestone in milestones_ahead(plan, (due_on - today).days, count=AHEAD)
        ]
    return ObligationReminders(plan, ahead, raised)
