"""The days on which an obligation is reminded of (the portal's own choice; no law asks for reminders)."""

import datetime

import pytest

from compliance.rulebook.results import ObligationKind
from compliance.selectors import milestones
from compliance.selectors.milestones import MilestonePlan, milestone_reached

DUE_ON = datetime.date(2026, 4, 1)


def _name(days_left, kind="repair"):
    milestone = milestone_reached(kind, DUE_ON, DUE_ON - datetime.timedelta(days=days_left))
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
