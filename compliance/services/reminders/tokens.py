"""Signed addresses by which somebody acknowledges reminders without signing in."""

import datetime
from typing import Any

from django.core import signing
from django.urls import reverse

from compliance.models import Reminder, ReminderChannel, ReminderDigest

SALT = "compliance.reminders.acknowledge"
VALID_FOR = datetime.timedelta(days=120)


def reminder_link(reminder: Reminder) -> str:
    """The path that acknowledges one reminder."""
    names = (reminder.owed_key, reminder.due_on.isoformat(), reminder.milestone)
    return _path({"reminder": [*names, reminder.recipient_email]})


def digest_link(digest: ReminderDigest) -> str:
    """The path that acknowledges all reminders of a digest."""
    return _path({"digest": digest.pk})


def reminders_of(token: str) -> list[Reminder]:
    """The e-mails that a signed address speaks of; none where they are no longer on record.

    Raises:
        BadSignature: it isn't one of ours, or it is too old.
    """
    named: dict[str, Any] = signing.loads(token, salt=SALT, max_age=VALID_FOR)
    emails = Reminder.objects.filter(channel=ReminderChannel.EMAIL).select_related("user")
    if "digest" in named:
        return list(emails.filter(digest=named["digest"]).order_by("due_on", "pk"))
    key, due_on, milestone, email = named["reminder"]
    identity = {"owed_key": key, "due_on": datetime.date.fromisoformat(due_on)}
    return list(emails.filter(**identity, milestone=milestone, recipient_email=email))


def _path(named: dict[str, Any]) -> str:
    return reverse("reminder-acknowledge-link", args=[signing.dumps(named, salt=SALT, compress=True)])
