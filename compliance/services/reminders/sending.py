"""Sends reminders by e-mail: each is claimed first, so that two workers don't send one twice.

A worker that ends between sending and noting it leaves a claim that grows old; the reminder is
then sent again under the same Message-ID. Whether the first one arrived can't be known.
"""

import datetime
import hashlib
import logging
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db.models import F, Q

from compliance.models import Reminder, ReminderChannel, ReminderState
from compliance.selectors.reminders import still_addressed, still_owed

logger = logging.getLogger(__name__)

# Longer than any server takes to answer (the settings' time-out), shorter than anyone would wait.
CLAIM_LASTS = datetime.timedelta(minutes=10)
ATTEMPTS_MAX = 8
# Other workers may be quicker with the first of them.
CANDIDATES = 50
# 1, 2, 4 … minutes after a failure, at most six hours: a day's outage of a mail server is sat out.
BACK_OFF_FIRST = datetime.timedelta(minutes=1)
BACK_OFF_MAX = datetime.timedelta(hours=6)
ENDED_MIDWAY = "The worker ended while it was sending this."


def reminder_claim(*, now: datetime.datetime) -> Reminder | None:
    """Claim the oldest e-mail that waits to be sent, or whose claim is so old that its worker must have ended.

    Reminders of what is no longer owed, or to someone who is no longer to be reminded, are dropped on the way.
    """
    _give_up_claims(now)
    ready = Reminder.objects.filter(_is_ready(now), channel=ReminderChannel.EMAIL)
    for pk in ready.order_by("raised_at", "pk").values_list("pk", flat=True)[:CANDIDATES]:
        row = Reminder.objects.filter(_is_ready(now), pk=pk)
        if row.filter(~still_owed() | ~still_addressed()).update(state=ReminderState.DROPPED):
            continue
        if row.update(state=ReminderState.SENDING, claimed_at=now, attempts=F("attempts") + 1):
            return Reminder.objects.get(pk=pk)
    return None


def reminder_deliver(*, reminder: Reminder, sent_at: datetime.datetime) -> bool:
    """Send a claimed e-mail and note that; a failure is noted and tried again later.

    Returns:
        Whether it was sent.
    """
    mine = Reminder.objects.filter(
        pk=reminder.pk, state=ReminderState.SENDING, claimed_at=reminder.claimed_at
    )
    try:
        _message(reminder).send()
    except Exception as error:  # noqa: BLE001 -- whatever goes wrong is kept with the reminder and shown
        logger.warning("Reminder %s to %s was not sent: %s", reminder.pk, reminder.recipient_email, error)
        mine.update(**_failure(reminder, f"{type(error).__name__}: {error}", sent_at))
        return False
    mine.update(state=ReminderState.SENT, sent_at=sent_at, last_error="", next_attempt_at=None)
    return True


def message_id(reminder: Reminder) -> str:
    """The same for every attempt at one reminder, so that a receiver can tell a second copy."""
    identity = (
        f"{reminder.obligation_key} {reminder.due_on} {reminder.milestone} "
        f"{reminder.recipient_email} {reminder.channel}"
    )
    host = urlsplit(settings.SITE_URL).hostname or "localhost"
    return f"<reminder-{hashlib.sha256(identity.encode()).hexdigest()[:32]}@{host}>"


def _is_ready(now: datetime.datetime) -> Q:
    is_due = Q(next_attempt_at=None) | Q(next_attempt_at__lte=now)
    is_abandoned = Q(state=ReminderState.SENDING, claimed_at__lte=now - CLAIM_LASTS)
    return (Q(state=ReminderState.WAITING) & is_due) | is_abandoned


def _give_up_claims(now: datetime.datetime) -> None:
    """Give up e-mails whose every attempt ended its worker."""
    Reminder.objects.filter(
        state=ReminderState.SENDING, claimed_at__lte=now - CLAIM_LASTS, attempts__gte=ATTEMPTS_MAX
    ).update(state=ReminderState.FAILED, last_error=ENDED_MIDWAY)


def _message(reminder: Reminder) -> EmailMultiAlternatives:
    message = EmailMultiAlternatives(
        subject=reminder.subject,
        body=reminder.body,
        to=[reminder.recipient_email],
        # RFC 3834: no holiday notice answers an automatic message.
        headers={"Message-ID": message_id(reminder), "Auto-Submitted": "auto-generated"},
    )
    message.attach_alternative(reminder.body_html, "text/html")
    return message


def _failure(reminder: Reminder, error: str, now: datetime.datetime) -> dict[str, object]:
    if reminder.attempts >= ATTEMPTS_MAX:
        return {"state": ReminderState.FAILED, "last_error": error}
    wait = min(BACK_OFF_FIRST * 2 ** (reminder.attempts - 1), BACK_OFF_MAX)
    return {"state": ReminderState.WAITING, "last_error": error, "next_attempt_at": now + wait}
