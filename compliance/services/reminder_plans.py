"""Decides when a kind of obligation is reminded of; former decisions stay."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass

from django.db import transaction
from django.utils import timezone

from compliance.models import ReminderPlan
from compliance.selectors.reminder_plans import PLANNED_KINDS
from jobs.services.refusals import Refusals
from portal.accounts.models import User

# Bounds on typing errors and on too much of it; the portal's own choice.
EARLIEST_NOTICE_DAYS = 365
MILESTONES_MOST = 12
DAILY_OVERDUE_MOST = 60
OVERDUE_EVERY_MOST = 30
ESCALATE_AFTER_MOST = 30
AHEAD = datetime.timedelta(days=366)


@dataclass(frozen=True)
class PlanEntry:
    """What a plan says.

    Attributes:
        days_before: counted back from the due date, 0 is the day itself; put in order when it is kept.
        daily_overdue_days: each day until this many days overdue,
        overdue_every_days: and from then on at this interval.
        escalate_after_days: the officers are told when nobody acknowledged a reminder for so long; never, if None.
    """

    days_before: Sequence[int]
    daily_overdue_days: int
    overdue_every_days: int
    escalate_after_days: int | None = None


@transaction.atomic
def reminder_plan_decide(
    *,
    by: User,
    kinds: Iterable[str],
    effective_from: datetime.date,
    entry: PlanEntry,
    reason: str,
    decided_at: datetime.datetime,
) -> list[ReminderPlan]:
    """Decide when kinds of obligations are reminded of, from a day on.

    Args:
        by: the compliance officer.
        kinds: for each of them a decision of its own is kept.
        effective_from: today at the firm or later; what was raised before stays as it is.
        entry: what the plan says.
        reason: why, for whoever asks later.
        decided_at: the instant.

    Raises:
        SubmissionRefused: a kind that has no plan, or a figure beyond its bounds.
    """
    refusals = Refusals()
    kinds = list(kinds)
    unknown = [kind for kind in kinds if kind not in PLANNED_KINDS]
    if unknown or not kinds:
        refusals.add("kinds", ", ".join(unknown), "Expected kinds of obligations that are reminded of.")
    today = timezone.localdate(decided_at)
    refusals.check_day("effective_from", effective_from, earliest=today, latest=today + AHEAD)
    _check_entry(refusals, entry)
    if not reason.strip():
        refusals.add("reason", reason, "Expected why it is decided.")
    refusals.raise_any()
    values = {**asdict(entry), "days_before": sorted(set(entry.days_before), reverse=True)}
    plans = [
        ReminderPlan(
            kind=kind,
            effective_from=effective_from,
            reason=reason.strip(),
            decided_by=by,
            decided_at=decided_at,
            **values,
        )
        for kind in kinds
    ]
    for plan in plans:
        refusals.check_fields(plan)
    refusals.raise_any()
    for plan in plans:
        plan.save()
    return plans


def _check_entry(refusals: Refusals, entry: PlanEntry) -> None:
    days = sorted(set(entry.days_before), reverse=True)
    if not days or len(days) > MILESTONES_MOST or days[0] > EARLIEST_NOTICE_DAYS or days[-1] < 0:
        expected = f"Expected 1 to {MILESTONES_MOST} whole numbers from 0 to {EARLIEST_NOTICE_DAYS}."
        refusals.add("days_before", ", ".join(map(str, days)), expected)
    _check_number(refusals, "daily_overdue_days", entry.daily_overdue_days, 0, DAILY_OVERDUE_MOST)
    _check_number(refusals, "overdue_every_days", entry.overdue_every_days, 1, OVERDUE_EVERY_MOST)
    if entry.escalate_after_days is not None:
        _check_number(refusals, "escalate_after_days", entry.escalate_after_days, 1, ESCALATE_AFTER_MOST)


def _check_number(refusals: Refusals, field: str, value: int, least: int, most: int) -> None:
    if not least <= value <= most:
        refusals.add(field, value, f"Expected a whole number from {least} to {most}.")
