"""Raises reminders: a row for each obligation, milestone, person and channel, which the database takes once."""

import datetime
import itertools
from collections.abc import Iterable, Iterator

from django.db import transaction

from compliance.models import MessageState, Obligation, Reminder, ReminderChannel
from compliance.selectors.milestones import PlanBook, plan_book
from compliance.selectors.owed import owed
from compliance.selectors.reminders import compliance_officers, obligations_to_remind, recipients
from compliance.services.reminders.keeping import UNNOTICED, reminders_drop_astray
from compliance.services.reminders.letters import reminder_letter
from portal.accounts.models import User

CHUNK = 200

# What may stand once: the unique constraint of the table.
_Identity = tuple[str, datetime.date, str, str, str]


def reminders_raise(*, now: datetime.datetime, appliance_ids: Iterable[int] | None = None) -> int:
    """Raise what has fallen due to be reminded of; running it again raises nothing twice.

    What waits for someone who is no longer to be reminded is dropped first.

    Args:
        now: the instant whose dates at the sites decide on milestones.
        appliance_ids: for these appliances alone; for all unless given.

    Returns:
        How many rows were raised.
    """
    reminders_drop_astray(appliance_ids=appliance_ids)
    officers, plans = compliance_officers(), plan_book()
    obligations = obligations_to_remind(now, plans.longest_notice_days, appliance_ids)
    obligations_left = obligations.iterator(chunk_size=CHUNK)
    return sum(
        _raise_chunk(list(chunk), officers, plans, now)
        for chunk in iter(lambda: list(itertools.islice(obligations_left, CHUNK)), [])
    )


@transaction.atomic
def _raise_chunk(
    obligations: list[Obligation], officers: list[User], plans: PlanBook, now: datetime.datetime
) -> int:
    keys = [obligation.key for obligation in obligations]
    there = {_identity(row): row for row in Reminder.objects.filter(obligation_key__in=keys)}
    wanted = [row for obligation in obligations for row in _rows(obligation, officers, plans, now)]
    new = [row for row in wanted if _identity(row) not in there]
    for row in new:
        _replace_older(row)
    # Another worker may raise the same at this moment; whoever comes second adds nothing.
    Reminder.objects.bulk_create(new, ignore_conflicts=True)
    return len(new) + sum(_revive(there[_identity(row)], row) for row in wanted if _identity(row) in there)


def _rows(
    obligation: Obligation, officers: list[User], plans: PlanBook, now: datetime.datetime
) -> Iterator[Reminder]:
    due_on = obligation.due_on
    today = now.astimezone(obligation.appliance.site.zone).date()
    if due_on is None or (milestone := plans.reached(obligation.kind, due_on, today)) is None:
        return
    what = owed(obligation, now)
    for person in recipients(obligation, officers):
        letter = reminder_letter(what, recipient=person)
        for channel in person.channels:
            is_there = channel == ReminderChannel.PORTAL
            yield Reminder(
                obligation_key=obligation.key,
                appliance=obligation.appliance,
                milestone=milestone.name,
                due_on=due_on,
                recipient_email=person.email.lower(),
                recipient_name=person.name,
                user=person.user,
                channel=channel,
                subject=letter.subject,
                body=letter.body,
                body_html=letter.body_html,
                raised_at=now,
                state=MessageState.SENT if is_there else MessageState.WAITING,
                sent_at=now if is_there else None,
            )


def _identity(row: Reminder) -> _Identity:
    return (row.obligation_key, row.due_on, row.milestone, row.recipient_email, str(row.channel))


def _replace_older(row: Reminder) -> None:
    """Drop what the same person hasn't got or hasn't read of the same obligation: the new reminder says more."""
    older = Reminder.objects.filter(
        UNNOTICED,
        obligation_key=row.obligation_key,
        recipient_email=row.recipient_email,
        channel=row.channel,
    )
    older.exclude(due_on=row.due_on, milestone=row.milestone).update(state=MessageState.DROPPED)


def _revive(there: Reminder, row: Reminder) -> int:
    """Raise again what was dropped before anybody got it, such as when a failed test reopened a repair."""
    if there.state != MessageState.DROPPED:
        return 0
    dropped = Reminder.objects.filter(pk=there.pk, state=MessageState.DROPPED)
    names = ("state", "sent_at", "raised_at", "subject", "body", "body_html")
    return dropped.update(
        attempts=0, next_attempt_at=None, digest=None, **{name: getattr(row, name) for name in names}
    )
