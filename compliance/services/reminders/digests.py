"""Digests: what waits for a person at the hour of the digest goes out in one e-mail, each reminder in one of them.

A digest takes its reminders when it is made. They are sent when it is, and its claim is theirs: see
compliance/services/outbox.py.
"""

import datetime

from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from compliance.models import MessageState, Reminder, ReminderChannel, ReminderDigest, ReminderPreference
from compliance.selectors.expiring import owed_by_key
from compliance.selectors.reminder_preferences import digest_preferences, quiet_user_ids
from compliance.selectors.reminders import still_addressed, still_owed
from compliance.selectors.sending_hours import sending_hours
from compliance.services.outbox import message_claim, message_deliver, message_headers
from compliance.services.reminders.letters import digest_letter
from compliance.services.reminders.tokens import digest_link

# Taken by a digest that isn't sent yet.
TAKEN = (MessageState.WAITING, MessageState.SENDING)


def digest_claim(*, now: datetime.datetime) -> ReminderDigest | None:
    """Make the digests that are due, each once, and claim the oldest that waits, as reminders are claimed.

    One with nothing left in it is dropped on the way.
    """
    _follow_their_digest()
    for preference in digest_preferences():
        _make(preference, now)
    digests = ReminderDigest.objects.exclude(user__in=quiet_user_ids(now))
    items = Reminder.objects.filter(still_owed(), still_addressed(), digest=OuterRef("pk"), state__in=TAKEN)
    return message_claim(digests, now=now, is_wanted=Exists(items))


def digest_deliver(*, digest: ReminderDigest, sent_at: datetime.datetime) -> bool:
    """Send a claimed digest and note that with its reminders; a failure is noted and tried again later.

    Returns:
        Whether it was sent.
    """
    is_sent = message_deliver(digest, lambda: _message(digest, sent_at), sent_at=sent_at)
    _follow_their_digest()
    return is_sent


@transaction.atomic
def _make(preference: ReminderPreference, now: datetime.datetime) -> None:
    user = preference.user
    due_at = sending_hours(preference).digest_due_at(now)
    if due_at is None or ReminderDigest.objects.filter(user=user, due_at=due_at).exists():
        return
    # What is raised later waits for the next one; what a clock that ran ahead has dated later doesn't.
    in_time = Q(raised_at__lte=due_at) | Q(raised_at__gt=now)
    items = Reminder.objects.filter(
        in_time,
        still_owed(),
        still_addressed(),
        user=user,
        channel=ReminderChannel.EMAIL,
        state=MessageState.WAITING,
        digest=None,
    )
    if not items.exists():
        return
    # Another worker may make the same at this moment; whoever comes second takes nothing.
    digest, is_new = ReminderDigest.objects.get_or_create(
        user=user,
        due_at=due_at,
        defaults={"recipient_email": user.email, "recipient_name": user.full_name, "raised_at": now},
    )
    if is_new:
        items.update(digest=digest)


def _message(digest: ReminderDigest, now: datetime.datetime) -> EmailMultiAlternatives:
    """Write the digest of what is left of its reminders, and withdraw the others."""
    items = digest.items.filter(state__in=TAKEN)
    items.filter(~still_owed() | ~still_addressed()).update(state=MessageState.DROPPED)
    items.update(state=MessageState.SENDING, claimed_at=digest.claimed_at)
    what = owed_by_key(items.values_list("owed_key", flat=True), now)
    letter = digest_letter(list(what.values()), recipient=digest.user, acknowledge_path=digest_link(digest))
    message = EmailMultiAlternatives(
        subject=letter.subject,
        body=letter.body,
        to=[digest.recipient_email],
        headers=message_headers("digest", f"{digest.recipient_email} {digest.due_at.isoformat()}"),
    )
    message.attach_alternative(letter.body_html, "text/html")
    return message


def _follow_their_digest() -> None:
    """Let reminders stand where their digest does, also where a worker ended before it noted that."""
    for state in (MessageState.SENT, MessageState.FAILED):
        digest = ReminderDigest.objects.filter(pk=OuterRef("digest"))
        taken = _taken_by(state, MessageState.SENDING)
        taken.update(
            state=state,
            sent_at=Subquery(digest.values("sent_at")[:1]),
            attempts=Subquery(digest.values("attempts")[:1]),
            undecided_count=Subquery(digest.values("undecided_count")[:1]),
            last_error=Subquery(digest.values("last_error")[:1]),
        )
    # A digest that was dropped for having nothing left: what has come back since waits for the next one.
    _taken_by(MessageState.DROPPED, MessageState.WAITING).update(digest=None)


def _taken_by(digest_state: MessageState, state: MessageState) -> QuerySet[Reminder]:
    digests = ReminderDigest.objects.filter(state=digest_state).values("pk")
    return Reminder.objects.filter(digest__in=digests, state=state)
