"""Raises reminders: a row for each obligation, milestone, person and channel, which the database takes once.

An escalation is such a row too: it tells an officer that nobody acknowledged a reminder, once for each that waits.
"""

import datetime
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db import transaction

from compliance.models import MessageState, Obligation, Reminder, ReminderAcknowledgement, ReminderChannel
from compliance.selectors.acknowledgements import days_waiting, waiting_longest
from compliance.selectors.milestones import PlanBook, plan_book
from compliance.selectors.owed import Owed, owed
from compliance.selectors.reminders import (
    Recipient,
    compliance_officers,
    obligations_to_remind,
    officer_recipients,
    recipients,
)
from compliance.services.reminders.keeping import UNNOTICED, reminders_drop_astray
from compliance.services.reminders.letters import Escalation, reminder_letter
from compliance.services.reminders.tokens import reminder_link
from portal.accounts.models import User

CHUNK = 200

# What may stand once: the unique constraint of the table.
_Identity = tuple[str, datetime.date, str, str, str]


@dataclass(frozen=True)
class _Round:
    """One raising: its instant, the plans in force, and the officers."""

    now: datetime.datetime
    plans: PlanBook
    officers: list[User]


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
    this = _Round(now, plan_book(), compliance_officers())
    obligations = obligations_to_remind(now, this.plans.longest_notice_days, appliance_ids)
    left = obligations.iterator(chunk_size=CHUNK)
    return sum(
        _raise_chunk(list(chunk), this) for chunk in iter(lambda: list(itertools.islice(left, CHUNK)), [])
    )


@transaction.atomic
def _raise_chunk(obligations: list[Obligation], this: _Round) -> int:
    keys = [obligation.key for obligation in obligations]
    rows = defaultdict(list)
    for row in Reminder.objects.filter(obligation_key__in=keys):
        rows[row.obligation_key].append(row)
    answers = defaultdict(list)
    for answer in ReminderAcknowledgement.objects.filter(obligation_key__in=keys):
        answers[answer.obligation_key].append(answer)
    there = {_identity(row): row for of_one in rows.values() for row in of_one}
    wanted = [
        row
        for obligation in obligations
        for row in (
            *_milestone_rows(obligation, this),
            *_escalation_rows(obligation, rows[obligation.key], answers[obligation.key], this),
        )
    ]
    new = [row for row in wanted if _identity(row) not in there]
    for row in new:
        _replace_older(row)
    # Another worker may raise the same at this moment; whoever comes second adds nothing.
    Reminder.objects.bulk_create(new, ignore_conflicts=True)
    return len(new) + sum(_revive(there[_identity(row)], row) for row in wanted if _identity(row) in there)


def _milestone_rows(obligation: Obligation, this: _Round) -> Iterator[Reminder]:
    if obligation.due_on is None:
        return
    what = owed(obligation, this.now)
    if milestone := this.plans.reached(what.kind, what.due_on, what.today):
        for person in recipients(obligation, this.officers):
            yield from _rows_for(person, what, obligation, milestone.name, this)


def _escalation_rows(
    obligation: Obligation, rows: list[Reminder], answers: list[ReminderAcknowledgement], this: _Round
) -> Iterator[Reminder]:
    """Rows for the officers, once a reminder that nobody acknowledged is older than the plan says."""
    if obligation.due_on is None or not (oldest := waiting_longest(rows, answers, obligation.due_on)):
        return
    what = owed(obligation, this.now)
    zone = obligation.appliance.site.zone
    after = this.plans.plan(what.kind, what.today).escalate_after_days
    if not after or days_waiting(oldest, what.today, zone) < after:
        return
    told = {row.recipient_name or row.recipient_email for row in rows if row.milestone == oldest.milestone}
    escalation = Escalation(oldest.milestone, oldest.raised_at.astimezone(zone).date(), sorted(told))
    for person in officer_recipients(this.officers):
        yield from _rows_for(person, what, obligation, escalation.name, this, escalation)


def _rows_for(
    person: Recipient,
    what: Owed,
    obligation: Obligation,
    milestone: str,
    this: _Round,
    escalation: Escalation | None = None,
) -> Iterator[Reminder]:
    """A person's rows, one for each way in which they are reached."""
    for channel in person.channels:
        is_there = channel == ReminderChannel.PORTAL
        row = Reminder(
            obligation_key=what.key,
            appliance=obligation.appliance,
            milestone=milestone,
            is_escalation=escalation is not None,
            due_on=what.due_on,
            recipient_email=person.email.lower(),
            recipient_name=person.name,
            user=person.user,
            channel=channel,
            raised_at=this.now,
            state=MessageState.SENT if is_there else MessageState.WAITING,
            sent_at=this.now if is_there else None,
        )
        # In the portal a button stands beside it.
        link = "" if is_there else reminder_link(row)
        letter = reminder_letter(what, recipient=person, acknowledge_path=link, escalation=escalation)
        row.subject, row.body, row.body_html = letter.subject, letter.body, letter.body_html
        yield row


def _identity(row: Reminder) -> _Identity:
    return (row.obligation_key, row.due_on, row.milestone, row.recipient_email, str(row.channel))


def _replace_older(row: Reminder) -> None:
    """Drop what the same person hasn't got or hasn't read of the same obligation: the new reminder says more."""
    older = Reminder.objects.filter(
        UNNOTICED,
        obligation_key=row.obligation_key,
        recipient_email=row.recipient_email,
        channel=row.channel,
        is_escalation=row.is_escalation,
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
