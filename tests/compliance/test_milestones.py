"""The days on which an obligation is reminded of (the portal's own choice; no law asks for reminders)."""

import datetime
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rulebook.results import ObligationKind
from compliance.selectors import milestones
from compliance.selectors.milestones import MilestonePlan, PlanBook, milestone_reached, milestones_ahead

DUE_ON = datetime.date(2026, 4, 1)


def _name(days_left, kind="repair"):
    milestone = PlanBook([]).reached(kind, DUE_ON, DUE_ON - datetime.timedelta(days=days_left))
    return milestone.name if milestone else None


@pytest.mark.parametrize(
    ("days_left", "name"),
    [
        (15, None),
        (14, "14 days before"),
        (13, "14 days before"),
        (8, "14 days before"),
        (7, "7 days before"),
        (4, "7 days before"),
        (3, "3 days before"),
        (2, "3 days before"),
        (1, "1 day before"),
        (0, "on the day"),
        (-1, "1 day overdue"),
        (-2, "2 days overdue"),
        (-14, "14 days overdue"),
        (-15, "14 days overdue"),
        (-20, "14 days overdue"),
        (-21, "21 days overdue"),
        (-27, "21 days overdue"),
        (-28, "28 days overdue"),
    ],
)
def test_both_sides_of_each_milestone(days_left, name):
    assert _name(days_left) == name


def test_a_kind_may_have_days_of_its_own():
    assert _name(30, "chronic_leak_report") == "30 days before"
    assert _name(90, "retrofit_or_retirement") == "90 days before"
    assert _name(30, "repair") is None


def test_the_keeping_of_records_is_never_reminded_of():
    assert _name(0, "record_retention") is None
    assert _name(-1, "record_retention") is None


def test_every_other_kind_is():
    kinds = set(ObligationKind) - {ObligationKind.RECORD_RETENTION}

    assert all(_name(0, kind) == "on the day" for kind in kinds)


def test_a_later_plan_holds_from_its_day_on(monkeypatch):
    later = MilestonePlan(datetime.date(2026, 3, 30), days_before=(2, 0))
    monkeypatch.setattr(milestones, "PLANS", (*milestones.PLANS, later))

    assert _name(3) == "3 days before"
    assert _name(2) == "2 days before"
    assert _name(1) == "2 days before"


PLANS = st.builds(
    MilestonePlan,
    effective_from=st.just(datetime.date(2020, 1, 1)),
    days_before=st.sets(st.integers(0, 60), min_size=1, max_size=6).map(
        lambda days: tuple(sorted(days, reverse=True))
    ),
    daily_overdue_days=st.integers(0, 20),
    overdue_every_days=st.integers(1, 10),
)


@given(plan=PLANS, days_left=st.integers(-60, 60))
def test_what_was_told_ahead_is_what_is_reached_day_by_day(plan, days_left):
    ahead = [milestone.days_left for milestone in milestones_ahead(plan, days_left, count=4)]

    reached = [milestone_reached(plan, left) for left in range(days_left, ahead[-1] - 1, -1)]
    newest = [milestone.days_left if milestone else None for milestone in reached]
    assert [left for before, left in itertools.pairwise(newest) if left != before] == ahead


@given(plan=PLANS, days_left=st.integers(-60, 60))
def test_a_milestone_is_never_told_before_its_day(plan, days_left):
    milestone = milestone_reached(plan, days_left)

    assert milestone is None or milestone.days_left >= days_left


def test_a_plan_without_daily_reminders_keeps_its_last_day_until_the_first_one_overdue():
    plan = MilestonePlan(
        datetime.date(2020, 1, 1), days_before=(7, 2), daily_overdue_days=0, overdue_every_days=5
    )

    reached = [milestone_reached(plan, left).name for left in (2, 0, -4, -5, -9, -10)]
    assert reached == ["2 days before"] * 3 + ["5 days overdue"] * 2 + ["10 days overdue"]
