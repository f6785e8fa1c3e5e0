"""Which reminders were acknowledged, and which that nobody of the firm acknowledged wait for it longest."""

import datetime
from collections.abc import Iterable

from django.db.models import DateTimeField, Exists, OuterRef, Q, QuerySet, Subquery

from compliance.models import MessageState, Reminder, ReminderAcknowledgement

NOT_WITHDRAWN = (MessageState.WAITING, MessageState.SENDING, MessageState.SENT, MessageState.FAILED)


def acknowledged_at() -> Subquery:
    """An expression on reminders: when their recipient acknowledged them; null if not yet."""
    own = ReminderAcknowledgement.objects.filter(
        Q(acknowledged_at__gte=OuterRef("raised_at")) | Q(milestone=OuterRef("milestone")),
        owed_key=OuterRef("owed_key"),
        due_on=OuterRef("due_on"),
        recipient_email=OuterRef("recipient_email"),
    )
    oldest = own.order_by("acknowledged_at").values("acknowledged_at")[:1]
    return Subquery(oldest, output_field=DateTimeField())


def acknowledgements(owed_key: str) -> QuerySet[ReminderAcknowledgement]:
    """Everybody's acknowledgements of one thing, the newest first."""
    return ReminderAcknowledgement.objects.filter(owed_key=owed_key)


def is_escalated() -> Exists:
    """A condition on obligations: the officers were told that nobody acknowledged a reminder, and nobody has since."""
    return Exists(open_escalations().filter(owed_key=OuterRef("key"), due_on=OuterRef("due_on")))


def open_escalations() -> QuerySet[Reminder]:
    """The reminders by which the officers were told that nobody acknowledged, where nobody has since."""
    since = ReminderAcknowledgement.objects.filter(
        Q(acknowledged_at__gte=OuterRef("raised_at")) | Q(milestone=OuterRef("milestone")),
        owed_key=OuterRef("owed_key"),
        due_on=OuterRef("due_on"),
        user__isnull=False,
    )
    return Reminder.objects.filter(~Exists(since), is_escalation=True, state__in=NOT_WITHDRAWN)


def waiting_longest(
    rows: Iterable[Reminder], acknowledged: Iterable[ReminderAcknowledgement], due_on: datetime.date
) -> Reminder | None:
    """The oldest reminder of the firm's people of one thing, due on a date, that none of them has acknowledged.

    Args:
        rows: everybody's reminders of it, of whatever due date.
        acknowledged: everybody's acknowledgements of it.
        due_on: the due date that holds.

    Returns:
        None if nobody was reminded yet, or somebody has acknowledged all that was.
    """
    answers = [row for row in acknowledged if row.due_on == due_on and row.user_id]
    newest_at = max((row.acknowledged_at for row in answers), default=None)
    named = {row.milestone for row in answers}
    waiting = [
        row
        for row in rows
        if row.due_on == due_on
        and row.user_id
        and row.sent_at
        and not row.is_escalation
        and row.milestone not in named
        and (newest_at is None or row.raised_at > newest_at)
    ]
    return min(waiting, key=lambda row: (row.raised_at, row.pk), default=None)


def days_waiting(reminder: Reminder, today: datetime.date, zone: datetime.tzinfo) -> int:
    """For how many calendar days at a site a reminder is out; none or fewer where a clock was put back since."""
    return (today - reminder.raised_at.astimezone(zone).date()).days
