"""Reminders that are no longer owed, were read, or are to be tried again."""

import datetime
from collections.abc import Collection, Iterable

from django.db.models import Q

from compliance.models import MessageState, Reminder, ReminderChannel
from compliance.selectors.expiries import Expiry
from compliance.selectors.reminders import inbox, still_addressed, still_pending
from jobs.selectors.among import AmongIds
from portal.accounts.models import User

# What nobody has got yet: e-mails that wait, and lines in the portal that weren't read.
UNNOTICED = Q(state__in=(MessageState.WAITING, MessageState.FAILED)) | Q(
    channel=ReminderChannel.PORTAL, state=MessageState.SENT, read_at=None
)


def reminders_drop_settled(*, appliance_ids: Collection[int]) -> int:
    """Drop the unnoticed reminders of what the appliances no longer owe, or owe by another date."""
    settled = Reminder.objects.filter(AmongIds("appliance", appliance_ids), UNNOTICED, ~still_pending())
    return settled.update(state=MessageState.DROPPED)


def reminders_drop_astray(*, appliance_ids: Iterable[int] | None = None) -> int:
    """Drop the unnoticed reminders to people who aren't, or are no longer, the ones to be reminded.

    Such are a former technician of the appliance, a former officer, and a customer who no longer agrees to it.

    Args:
        appliance_ids: of these appliances alone; of all unless given.
    """
    astray = Reminder.objects.filter(UNNOTICED, ~still_addressed())
    if appliance_ids is not None:
        astray = astray.filter(appliance__in=appliance_ids)
    return astray.update(state=MessageState.DROPPED)


def reminders_drop_overtaken(running: Iterable[Expiry]) -> int:
    """Drop the unnoticed reminders of what runs out no more, or on another day.

    Args:
        running: everything that runs out.
    """
    standing = {(expiry.key, expiry.last_on) for expiry in running}
    waiting = Reminder.objects.filter(UNNOTICED, appliance=None).values_list("pk", "owed_key", "due_on")
    overtaken = [pk for pk, key, due_on in waiting if (key, due_on) not in standing]
    return Reminder.objects.filter(UNNOTICED, pk__in=overtaken).update(state=MessageState.DROPPED)


def reminder_mark_read(*, by: User, reminder: Reminder, read_at: datetime.datetime) -> Reminder:
    """Note that a person has read a reminder of theirs; the first time counts."""
    if reminder.user_id == by.pk and reminder.read_at is None:
        reminder.read_at = read_at
        reminder.save(update_fields=["read_at"])
    return reminder


def reminders_mark_all_read(*, by: User, read_at: datetime.datetime) -> int:
    """Note that a person has read all that is in the inbox."""
    unread = Reminder.objects.filter(pk__in=inbox(by).filter(read_at=None).values("pk"))
    return unread.update(read_at=read_at)


def reminder_retry(*, by: User, reminder: Reminder) -> Reminder:
    """Put an e-mail that was given up back into the queue, with a fresh count of attempts."""
    Reminder.objects.filter(pk=reminder.pk, state=MessageState.FAILED).update(
        state=MessageState.WAITING, attempts=0, next_attempt_at=None, claimed_at=None, digest=None
    )
    reminder.refresh_from_db()
    return reminder
