"""Raises reminders: a row for each thing owed or running out, milestone, person and channel, taken once.

An escalation is such a row too: it tells an officer that nobody acknowledged a reminder, once for each that waits.
"""

import datetime
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from compliance.models import MessageState, Reminder, ReminderAcknowledgement, ReminderChannel
from compliance.selectors.acknowledgements import days_waiting, waiting_longest
from compliance.selectors.expiries import expiries, firm_date
from compliance.selectors.expiring import expiring
from compliance.selectors.milestones import PlanBook, plan_book
from compliance.selectors.owed import Owed, owed
from compliance.selectors.reminders import (
    Recipient,
    compliance_officers,
    expiry_recipients,
    obligations_to_remind,
    office_admins,
    officer_recipients,
    recipients,
)
from compliance.services.reminders.keeping import (
    UNNOTICED,
    reminders_drop_astray,
    reminders_drop_overtaken,
)
from compliance.services.reminders.letters import Escalation, reminder_letter
from compliance.services.reminders.tokens import reminder_link
from portal.accounts.models import User

CHUNK = 200

# What may stand once: the unique constraint of the table.
_Identity = tuple[str, datetime.date, str, str, str]


@dataclass(frozen=True)
class _Case:
    """One thing to remind of: in words, what it is about by the column's name, who is reminded, and by whose days."""

    what: Owed
    about: dict[str, Any]
    people: list[Recipient]
    zone: datetime.tzinfo


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
        now: the instant whose dates at the sites, and at the firm, decide on milestones.
        appliance_ids: for the obligations of these appliances alone; for everything unless given.

    Returns:
        How many rows were raised.
    """
    reminders_drop_astray(appliance_ids=appliance_ids)
    this = _Round(now, plan_book(), compliance_officers())
    cases = _obligation_cases(this, appliance_ids)
    if appliance_ids is None:
        cases = itertools.chain(cases, _expiry_cases(this))
    return sum(_raise_chunk(chunk, this) for chunk in iter(lambda: list(itertools.islice(cases, CHUNK)), []))


def _obligation_cases(this: _Round, appliance_ids: Iterable[int] | None) -> Iterator[_Case]:
    obligations = obligations_to_remind(this.now, this.plans.longest_notice_days, appliance_ids)
    for obligation in obligations.iterator(chunk_size=CHUNK):
        appliance = obligation.appliance
        yield _Case(
            what=owed(obligation, this.now),
            about={"appliance": appliance},
            people=recipients(obligation, this.officers),
            zone=appliance.site.zone,
        )


def _expiry_cases(this: _Round) -> Iterator[_Case]:
    """What runs out; reminders that name another last day of it, or of what has been settled, are dropped first."""
    running = expiries(firm_date(this.now))
    reminders_drop_overtaken(running)
    office = office_admins()
    for expiry in running:
        if expiry.days_left <= this.plans.longest_notice_days:
            about = {name: getattr(expiry, name) for name in ("technician", "cylinder", "instrument")}
            yield _Case(
                what=expiring(expiry),
                about=about,
                people=expiry_recipients(expiry, this.officers, office),
                zone=timezone.get_default_timezone(),
            )


@transaction.atomic
def _raise_chunk(cases: list[_Case], this: _Round) -> int:
    keys = [case.what.key for case in cases]
    rows = defaultdict(list)
    for row in Reminder.objects.filter(owed_key__in=keys):
        rows[row.owed_key].append(row)
    answers = defaultdict(list)
    for answer in ReminderAcknowledgement.objects.filter(owed_key__in=keys):
        answers[answer.owed_key].append(answer)
    there = {_identity(row): row for of_one in rows.values() for row in of_one}
    wanted = [
        row
        for case in cases
        for row in (
            *_milestone_rows(case, this),
            *_escalation_rows(case, rows[case.what.key], answers[case.what.key], this),
        )
    ]
    new = [row for row in wanted if _identity(row) not in there]
    for row in new:
        _replace_older(row)
    # Another worker may raise the same at this moment; whoever comes second adds nothing.
    Reminder.objects.bulk_create(new, ignore_conflicts=True)
    return len(new) + sum(_revive(there[_identity(row)], row) for row in wanted if _identity(row) in there)


def _milestone_rows(case: _Case, this: _Round) -> Iterator[Reminder]:
    what = case.what
    if milestone := this.plans.reached(what.kind, what.due_on, what.today):
        for person in case.people:
            yield from _rows_for(person, case, milestone.name, this)


def _escalation_rows(
    case: _Case, rows: list[Reminder], answers: list[ReminderAcknowledgement], this: _Round
) -> Iterator[Reminder]:
    """Rows for the officers, once a reminder that nobody acknowledged is older than the plan says."""
    what = case.what
    if not (oldest := waiting_longest(rows, answers, what.due_on)):
        return
    after = this.plans.plan(what.kind, what.today).escalate_after_days
    if not after or days_waiting(oldest, what.today, case.zone) < after:
        return
    told = {row.recipient_name or row.recipient_email for row in rows if row.milestone == oldest.milestone}
    since_on = oldest.raised_at.astimezone(case.zone).date()
    escalation = Escalation(oldest.milestone, since_on, sorted(told))
    for person in officer_recipients(this.officers):
        yield from _rows_for(person, case, escalation.name, this, escalation)


def _rows_for(
    person: Recipient,
    case: _Case,
    milestone: str,
    this: _Round,
    escalation: Escalation | None = None,
) -> Iterator[Reminder]:
    """A person's rows, one for each way in which they are reached."""
    for channel in person.channels:
        is_there = channel == ReminderChannel.PORTAL
        what = case.what
        row = Reminder(
            **case.about,
            owed_key=what.key,
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
    return (row.owed_key, row.due_on, row.milestone, row.recipient_email, str(row.channel))


def _replace_older(row: Reminder) -> None:
    """Drop what the same person hasn't got or hasn't read of the same thing: the new reminder says more."""
    older = Reminder.objects.filter(
        UNNOTICED,
        owed_key=row.owed_key,
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
