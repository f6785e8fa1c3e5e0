"""Acknowledges reminders: whoever knows of something says so, and the officers needn't be told that nobody does."""

import datetime

from django.db import transaction

from compliance.models import (
    AcknowledgementWay,
    MessageState,
    Reminder,
    ReminderAcknowledgement,
    ReminderChannel,
)
from compliance.services.reminders.keeping import UNNOTICED


@transaction.atomic
def reminder_acknowledge(
    *, reminder: Reminder, way: AcknowledgementWay, note: str = "", acknowledged_at: datetime.datetime
) -> ReminderAcknowledgement:
    """Note that the recipient of a reminder knows of it; the first time counts.

    What the recipient had of the same thing and due date by then counts as read. If it is somebody of the firm, what
    the officers haven't yet noticed of nobody's having acknowledged it is withdrawn.

    Args:
        reminder: one of the recipient's.
        way: by which way.
        note: a word to whoever looks at the case.
        acknowledged_at: the instant.
    """
    acknowledgement, _ = ReminderAcknowledgement.objects.get_or_create(
        owed_key=reminder.owed_key,
        due_on=reminder.due_on,
        milestone=reminder.milestone,
        recipient_email=reminder.recipient_email,
        defaults={
            "recipient_name": reminder.recipient_name,
            "user": reminder.user,
            "acknowledged_at": acknowledged_at,
            "way": way,
            "note": note.strip(),
        },
    )
    if reminder.user_id:
        same = Reminder.objects.filter(owed_key=reminder.owed_key, due_on=reminder.due_on)
        own = same.filter(user=reminder.user, channel=ReminderChannel.PORTAL, read_at=None)
        own.update(read_at=acknowledged_at)
        same.filter(UNNOTICED, is_escalation=True).update(state=MessageState.DROPPED)
    return acknowledgement
