"""When each kind is reminded of: decided by the officer from a day on, kept, and followed by what is raised."""

import datetime

import pytest
from django.urls import reverse

from compliance.forms.reminder_plans import PLAN_FIELDS
from compliance.models import Reminder, ReminderPlan
from compliance.selectors.milestones import plan_book
from compliance.selectors.reminder_plans import plan_in_words
from compliance.services.reminder_plans import PlanEntry, reminder_plan_decide
from compliance.services.reminders import reminders_raise
from jobs.errors import SubmissionRefused
from tests.compliance.firm import day, noon, over_the_threshold

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-10"))
LIST = "/reminders/plans/"


@pytest.fixture(autouse=True)
def _tenth_of_march(time_machine):
    time_machine.move_to(NOW)


def _decide(officer, **changes):
    figures = {"days_before": [20, 5], "daily_overdue_days": 2, "overdue_every_days": 10}
    figures |= {name: changes.pop(name) for name in PLAN_FIELDS if name in changes}
    decision = {
        "kinds": ["repair"],
        "effective_from": day("2026-03-10"),
        "reason": "Parts take three weeks to come",
        "decided_at": NOW,
    }
    return reminder_plan_decide(by=officer, entry=PlanEntry(**figures), **{**decision, **changes})


def _milestones(kind, *days):
    rows = Reminder.objects.filter(owed_key__contains=f":{kind}:", channel="portal", is_escalation=False)
    for on in days:
        reminders_raise(now=noon(day(on)))
    return set(rows.values_list("milestone", flat=True))


def test_what_is_raised_follows_the_decision(admin, officer, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")  # due on 1 April (40 CFR 84.106(d))
    _decide(officer)

    raised = _milestones(
        "repair", "2026-03-11", "2026-03-12", "2026-03-18", "2026-03-27", "2026-04-01", "2026-04-02"
    )
    assert raised == {"20 days before", "5 days before", "1 day overdue"}


def test_other_kinds_keep_the_portals_own(admin, officer, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    _decide(officer)

    assert _milestones("initial_verification_test", "2026-03-12", "2026-03-18") == {"14 days before"}


def test_a_decision_holds_from_its_day_at_the_site(officer):
    _decide(officer, effective_from=day("2026-03-20"))

    book = plan_book()
    assert book.plan("repair", day("2026-03-19")).is_own
    assert book.plan("repair", day("2026-03-20")).days_before == (20, 5)
    assert book.longest_notice_days == 90


def test_a_longer_notice_than_any_before_is_looked_for(admin, officer, chiller):
    _decide(officer, days_before=[120, 0])

    assert plan_book().longest_notice_days == 120


def test_of_two_decisions_for_one_day_the_later_counts(officer):
    _decide(officer)
    _decide(officer, days_before=[9])

    assert plan_book().plan("repair", day("2026-03-10")).days_before == (9,)
    assert ReminderPlan.objects.count() == 2


def test_days_are_put_in_order_and_told_once(officer):
    (plan,) = _decide(officer, days_before=[0, 7, 30, 7])

    assert plan.days_before == [30, 7, 0]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"days_before": []}, "Expected 1 to 12 whole numbers from 0 to 365"),
        ({"days_before": [366]}, "Expected 1 to 12 whole numbers from 0 to 365. You gave “366”"),
        ({"days_before": [-1]}, "You gave “-1”"),
        ({"days_before": list(range(13))}, "Expected 1 to 12 whole numbers"),
        ({"daily_overdue_days": 61}, "Expected a whole number from 0 to 60. You gave “61”"),
        ({"overdue_every_days": 0}, "Expected a whole number from 1 to 30. You gave “0”"),
        ({"escalate_after_days": 0}, "Expected a whole number from 1 to 30. You gave “0”"),
        ({"escalate_after_days": 31}, "Expected a whole number from 1 to 30. You gave “31”"),
        ({"effective_from": day("2026-03-09")}, "Expected a date from 2026-03-10 to 2027-03-11"),
        ({"effective_from": day("2028-01-01")}, "You gave “2028-01-01”"),
        ({"reason": "  "}, "Expected why it is decided. You gave “  ”"),
        ({"kinds": ["record_retention"]}, "Expected kinds of obligations that are reminded of"),
        ({"kinds": []}, "Expected kinds of obligations that are reminded of. You gave nothing"),
    ],
)
def test_what_cant_be_is_refused_by_name(officer, changes, said):
    with pytest.raises(SubmissionRefused, match=said.replace("(", r"\(")):
        _decide(officer, **changes)

    assert not ReminderPlan.objects.exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "20 and 5 days before, each day until 2 days overdue, then every 10 days"),
        (
            {"days_before": [1, 0], "overdue_every_days": 1},
            "1 day before, on the day, then every day overdue",
        ),
        (
            {"days_before": [0], "daily_overdue_days": 0},
            "on the day, then every 10 days overdue",
        ),
        (
            {"days_before": [30, 14, 7], "daily_overdue_days": 1, "overdue_every_days": 3},
            "30, 14 and 7 days before, each day until 1 day overdue, then every 3 days",
        ),
        (
            {"days_before": [0], "overdue_every_days": 1, "escalate_after_days": 2},
            "on the day, then every day overdue; escalated after 2 days unacknowledged",
        ),
    ],
)
def test_a_plan_in_words(officer, changes, words):
    (plan,) = _decide(officer, **changes)

    assert plan_in_words(plan) == words


def test_the_list_shows_every_kind_with_what_holds_and_what_is_to_come(client, officer):
    _decide(officer)
    _decide(officer, kinds=["leak_check"], effective_from=day("2026-04-01"), days_before=[45])
    client.force_login(officer)

    text = client.get(LIST).text

    assert "20 and 5 days before" in text
    assert "45 days before" in text
    assert text.count("The portal’s own") == 14
    assert "Keeping of records" not in text


def _post(client, kind="repair", **changes):
    data = {
        "days_before": "20, 5 0",
        "daily_overdue_days": "3",
        "overdue_every_days": "7",
        "escalate_after_days": "4",
        "effective_from": "2026-03-10",
        "reason": "Parts take three weeks",
        **changes,
    }
    return client.post(reverse("reminder-plan", args=[kind]), data, follow=True)


def test_the_officer_decides_for_several_kinds_at_once(client, officer):
    client.force_login(officer)

    text = _post(client, also_for=["leak_check"]).text

    assert "Leak repair and 1 more: the plan holds from 2026-03-10." in text
    rows = ReminderPlan.objects.order_by("kind")
    assert [(row.kind, row.days_before, row.escalate_after_days, row.decided_by) for row in rows] == [
        ("leak_check", [20, 5, 0], 4, officer),
        ("repair", [20, 5, 0], 4, officer),
    ]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"days_before": "14, soon"}, "Expected whole numbers such as 14, 7, 3, 1, 0. You gave “14, soon”."),
        ({"days_before": "1.5"}, "You gave “1.5”."),
        ({"days_before": "٣"}, "You gave “٣”."),
        ({"days_before": ""}, "Expected an entry. You gave nothing."),
        ({"escalate_after_days": "99"}, "Expected a whole number from 1 to 30. You gave “99”."),
        ({"overdue_every_days": "often"}, "Expected a whole number. You gave “often”."),
        ({"effective_from": "10.3.2026"}, "Expected a date such as 2026-03-02. You gave “10.3.2026”."),
        ({"effective_from": "2026-03-01"}, "Expected a date from 2026-03-10"),
        ({"also_for": ["moon"]}, "Expected one or more of the choices offered"),
    ],
)
def test_the_form_names_what_it_cant_take(client, officer, changes, said):
    client.force_login(officer)

    response = _post(client, **changes)

    assert said in response.text
    assert not ReminderPlan.objects.exists()


def test_the_form_shows_what_holds_and_every_decision(client, officer):
    _decide(officer)
    _decide(officer, effective_from=day("2026-05-01"), days_before=[3], reason="Try with less")
    client.force_login(officer)

    text = client.get(reverse("reminder-plan", args=["repair"])).text

    assert 'value="20, 5"' in text
    for words in ("In force", "To come", "Parts take three weeks to come", "Try with less", "Clement Osei"):
        assert words in text
    own = client.get(reverse("reminder-plan", args=["repair"]), {"own": ""}).text
    assert 'value="14, 7, 3, 1, 0"' in own


def test_a_kind_without_plans_has_no_page(client, officer):
    client.force_login(officer)

    assert client.get(reverse("reminder-plan", args=["record_retention"])).status_code == 404
    assert _post(client, kind="moon").status_code == 404


def test_the_plans_are_the_officers(client, admin, technician_user, stranger):
    for user in (admin, technician_user, stranger):
        client.force_login(user)

        assert client.get(LIST).status_code == 403
        assert client.get(reverse("reminder-plan", args=["repair"])).status_code == 403


def test_the_longest_plan_doesnt_keep_a_far_obligation_from_its_own_first_day(admin, officer, chiller):
    """What is looked at early is still reminded of by its own kind's plan alone."""
    over_the_threshold(admin, chiller, "2026-03-02")
    _decide(officer, kinds=["leak_check"], days_before=[365])

    assert reminders_raise(now=noon(day("2026-03-17"))) == 0
    assert reminders_raise(now=noon(day("2026-03-17")) + datetime.timedelta(days=1)) > 0
