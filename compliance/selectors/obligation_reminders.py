"""Who is reminded of one obligation and when, and what they were reminded of so far."""

import datetime
from dataclasses import dataclass
from itertools import groupby

from compliance.models import Obligation, Reminder, ReminderAcknowledgement
from compliance.selectors.acknowledgements import acknowledged_at, acknowledgements, waiting_longest
from compliance.selectors.milestones import (
    NEVER_REMINDED,
    Milestone,
    MilestonePlan,
    milestones_ahead,
    plan_book,
)
from compliance.selectors.reminders import PENDING
from portal.accounts.models import User

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
    """An obligation's reminders.

    Attributes:
        plan: which they follow,
        ahead: and the next days by it.
        raised: what was raised, newest first.
        answers: who acknowledged, newest first.
        unanswered: the oldest that nobody of the firm acknowledged, if any,
        escalated_at: and when the officers were told of that.
        own: the viewer's newest, to be acknowledged; None if there is none.
    """

    plan: MilestonePlan
    ahead: list[DatedMilestone]
    raised: list[RaisedMilestone]
    answers: list[ReminderAcknowledgement]
    unanswered: Reminder | None
    escalated_at: datetime.datetime | None
    own: Reminder | None


def obligation_reminders(
    obligation: Obligation, today: datetime.date, viewer: User
) -> ObligationReminders | None:
    """Gather an obligation's reminders; None where nobody is or was to be reminded.

    Args:
        obligation: the one asked about.
        today: the date at its site.
        viewer: who looks.
    """
    rows = list(
        Reminder.objects.filter(owed_key=obligation.key)
        .annotate(acknowledged_at=acknowledged_at())
        .order_by("-raised_at", "-due_on", "pk")
    )
    raised = [
        RaisedMilestone(milestone, due_on, list(members))
        for (milestone, due_on), members in groupby(rows, lambda row: (row.milestone, row.due_on))
    ]
    if obligation.kind in NEVER_REMINDED or not (raised or obligation.status in PENDING):
        return None
    plan = plan_book().plan(obligation.kind, today)
    answers = list(acknowledgements(obligation.key))
    ahead, unanswered, own = [], None, None
    if obligation.status in PENDING and obligation.due_on:
        due_on = obligation.due_on
        ahead = [
            DatedMilestone(due_on - datetime.timedelta(days=milestone.days_left), milestone)
            for milestone in milestones_ahead(plan, (due_on - today).days, count=AHEAD)
        ]
        unanswered = waiting_longest(rows, answers, due_on)
        own = next((row for row in rows if _is_to_acknowledge(row, viewer, due_on)), None)
    told = f"unacknowledged, {unanswered.milestone}" if unanswered else ""
    escalated_at = next((row.raised_at for row in rows if row.is_escalation and row.milestone == told), None)
    return ObligationReminders(plan, ahead, raised, answers, unanswered, escalated_at, own)


def _is_to_acknowledge(row: Reminder, viewer: User, due_on: datetime.date) -> bool:
    is_acknowledged = row.acknowledged_at is not None  # type: ignore[attr-defined]  # an annotation
    return row.user_id == viewer.pk and row.due_on == due_on and bool(row.sent_at) and not is_acknowledged
