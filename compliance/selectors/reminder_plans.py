"""The plans that reminders follow, as the officer's pages show them."""

import datetime
from dataclasses import dataclass

from django.db.models import QuerySet

from compliance.models import ReminderPlan
from compliance.selectors.milestones import NEVER_REMINDED, MilestonePlan, PlanBook, plan_book
from compliance.selectors.wording import EXPIRIES, KINDS, kind_in_words

#: The kinds that have plans, in the order in which pages list them.
PLANNED_KINDS = tuple(kind.value for kind in (*KINDS, *EXPIRIES) if kind not in NEVER_REMINDED)


@dataclass(frozen=True)
class KindPlan:
    """One kind with its plan in force; ``coming`` are decided plans that don't hold yet, the soonest first."""

    kind: str
    name: str
    plan: MilestonePlan
    coming: list[ReminderPlan]


def kind_plans(today: datetime.date) -> list[KindPlan]:
    """Every kind with its plan on a day."""
    book, rows = plan_book(), list(ReminderPlan.objects.filter(effective_from__gt=today))
    return [_kind_plan(kind, book, rows, today) for kind in PLANNED_KINDS]


def plan_history(kind: str) -> QuerySet[ReminderPlan]:
    """Every decision on a kind, the one that holds latest first."""
    return ReminderPlan.objects.filter(kind=kind).select_related("decided_by")


def plan_in_words(plan: MilestonePlan | ReminderPlan) -> str:
    """Say when a plan reminds, such as “14, 7 and 1 days before, on the day, then every day overdue”.

    After a semicolon follows when the officers are told that nobody acknowledged, if they are.
    """
    parts = []
    before = [str(days) for days in plan.days_before if days]
    if before:
        *most, last = before
        listed = f"{', '.join(most)} and {last}" if most else last
        parts.append(f"{listed} {'day' if before == ['1'] else 'days'} before")
    if 0 in plan.days_before:
        parts.append("on the day")
    every, daily = plan.overdue_every_days, plan.daily_overdue_days
    rhythm = "every day" if every == 1 else f"every {every} days"
    if daily and every > 1:
        parts.append(f"each day until {daily} {'day' if daily == 1 else 'days'} overdue, then {rhythm}")
    else:
        parts.append(f"then {rhythm} overdue")
    words = ", ".join(parts)
    if not (after := plan.escalate_after_days):
        return words
    return f"{words}; escalated after {after} {'day' if after == 1 else 'days'} unacknowledged"


def _kind_plan(kind: str, book: PlanBook, rows: list[ReminderPlan], today: datetime.date) -> KindPlan:
    coming = sorted((row for row in rows if row.kind == kind), key=lambda row: (row.effective_from, row.pk))
    return KindPlan(kind, kind_in_words(kind), book.plan(kind, today), coming)
