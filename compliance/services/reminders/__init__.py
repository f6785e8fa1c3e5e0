"""Reminders: raised once for each milestone and person, sent once, dropped when nothing is owed any more."""

from compliance.services.reminders.acknowledging import reminder_acknowledge
from compliance.services.reminders.digests import digest_claim, digest_deliver
from compliance.services.reminders.keeping import (
    reminder_mark_read,
    reminder_retry,
    reminders_drop_settled,
    reminders_mark_all_read,
)
from compliance.services.reminders.raising import reminders_raise
from compliance.services.reminders.sending import reminder_claim, reminder_deliver
from compliance.services.reminders.tokens import reminders_of

__all__ = [
    "digest_claim",
    "digest_deliver",
    "reminder_acknowledge",
    "reminder_claim",
    "reminder_deliver",
    "reminder_mark_read",
    "reminder_retry",
    "reminders_drop_settled",
    "reminders_mark_all_read",
    "reminders_of",
    "reminders_raise",
]
