"""Sends reminders by e-mail, each once: see compliance/services/outbox.py."""

import datetime

from django.core.mail import EmailMultiAlternatives
from django.db.models import Q

from compliance.models import Reminder, ReminderChannel
from compliance.selectors.reminder_preferences import waits_for_its_hour
from compliance.selectors.reminders import still_addressed, still_owed
from compliance.services.outbox import message_claim, message_deliver, message_headers


def reminder_claim(*, now: datetime.datetime) -> Reminder | None:
    """Claim the oldest e-mail that waits to be sent, or whose claim is so old that its worker must have ended.

    Reminders of what is no longer owed, or to someone who is no longer to be reminded, are dropped on the way. What
    waits for a digest, or for the end of somebody's quiet hours, isn't looked at.
    """
    emails = Reminder.objects.filter(channel=ReminderChannel.EMAIL, digest=None)
    emails = emails.exclude(waits_for_its_hour(now))
    return message_claim(emails, now=now, is_wanted=Q(still_owed()) & Q(still_addressed()))


def reminder_deliver(*, reminder: Reminder, sent_at: datetime.datetime) -> bool:
    """Send a claimed e-mail and note that; a failure is noted and tried again later.

    Returns:
        Whether it was sent.
    """
    return message_deliver(reminder, lambda: _message(reminder), sent_at=sent_at)


def _message(reminder: Reminder) -> EmailMultiAlternatives:
    identity = (
        f"{reminder.owed_key} {reminder.due_on} {reminder.milestone} "
        f"{reminder.recipient_email} {reminder.channel}"
    )
    message = EmailMultiAlternatives(
        subject=reminder.subject,
        body=reminder.body,
        to=[reminder.recipient_email],
        headers=message_headers("reminder", identity),
    )
    message.attach_alternative(reminder.body_html, "text/html")
    return message
