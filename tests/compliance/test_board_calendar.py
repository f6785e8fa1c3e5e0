"""A month of the board: each obligation on its day, in weeks from Monday, narrowed as the board is."""

import datetime

import pytest
from django.urls import reverse

from compliance.selectors.board import BoardFilter
from compliance.selectors.board_calendar import SHOWN_A_DAY, board_month
from tests.compliance.firm import add_appliance, day, noon, over_the_threshold

pytestmark = pytest.mark.django_db

CALENDAR = reverse("board-calendar")
TODAY = day("2026-03-16")
NOW = noon(TODAY)


@pytest.fixture(autouse=True)
def _now(time_machine):
    time_machine.move_to(NOW)


def _month(on, **wanted):
    return board_month(BoardFilter(**wanted), day(on), TODAY, NOW)


def _due(month):
    return {str(one.on): len(one.obligations) for week in month.weeks for one in week if one.obligations}


def test_what_is_due_stands_on_its_day(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")

    # Repair and initial verification test 30 days after 2 March (40 CFR 84.106(d)(1), (e)(1)).
    assert _due(_month("2026-04-15")) == {"2026-04-01": 2}
    assert _due(_month("2026-03-15")) == {}


@pytest.mark.parametrize("on", ["2026-02-10", "2024-02-29", "2026-08-31", "2026-12-31"])
def test_weeks_run_from_monday_to_sunday_and_hold_each_day_once(on):
    month = _month(on)

    days = [one for week in month.weeks for one in week]
    assert all([one.on.weekday() for one in week] == list(range(7)) for week in month.weeks)
    inside = [one.on for one in days if one.is_in_month]
    assert inside == [month.first_on + datetime.timedelta(days=n) for n in range(len(inside))]
    assert inside[-1] == month.last_on
    assert month.after.day == month.before.day == 1
    assert month.before < month.first_on < month.after


def test_today_is_marked_in_its_month_alone():
    marked = [one.on for week in _month("2026-03-01").weeks for one in week if one.is_today]

    assert marked == [TODAY]
    assert not any(one.is_today for week in _month("2026-05-01").weeks for one in week)


def test_what_is_overdue_from_before_is_told(admin, chiller):
    over_the_threshold(admin, chiller, "2026-02-02")

    # Due 30 days later, on 4 March; on 16 March both are overdue.
    assert _due(_month("2026-03-01")) == {"2026-03-04": 2}
    assert _month("2026-03-01").overdue_before == 0
    assert _month("2026-04-01").overdue_before == 2


def test_a_full_day_links_to_the_board(client, officer, admin):
    for number in range(SHOWN_A_DAY):
        over_the_threshold(admin, add_appliance(admin, f"Rack {number}"), "2026-03-02")
    client.force_login(officer)

    text = client.get(CALENDAR, {"month": "2026-04"}).text

    assert f"{SHOWN_A_DAY} more" in text
    assert "due_from=2026-04-01&amp;due_to=2026-04-01" in text


def test_the_page_keeps_the_filter_from_month_to_month(client, officer, admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    client.force_login(officer)

    page = client.get(CALENDAR, {"month": "2026-04", "kind": "repair"})

    assert page.context["month"].count == 1
    assert "kind=repair&amp;month=2026-05" in page.text or "month=2026-05&amp;kind=repair" in page.text


def test_a_month_that_cannot_be_read_is_named_and_this_one_shown(client, officer):
    client.force_login(officer)

    page = client.get(CALENDAR, {"month": "Juni"})

    assert "Expected a month such as 2026-03. You gave “Juni”." in page.text
    assert page.context["month"].first_on == day("2026-03-01")


def test_an_empty_month_says_so(client, officer):
    client.force_login(officer)

    assert "Nothing is due in this month." in client.get(CALENDAR).text


def test_strangers_see_none_of_it(client, stranger):
    client.force_login(stranger)

    assert client.get(CALENDAR).status_code == 403


@pytest.mark.parametrize("month", ["9999-12", "0001-01", "1899-12", "2200-01"])
def test_a_month_of_another_age_is_refused(client, officer, month):
    client.force_login(officer)

    page = client.get(CALENDAR, {"month": month})

    assert page.status_code == 200
    assert f"Expected a month from 1900-01 to 2199-12. You gave “{month}”." in page.text
    assert page.context["month"].first_on == TODAY.replace(day=1)


@pytest.mark.parametrize("month", ["1900-01", "2199-12"])
def test_the_first_and_last_month_are_shown(client, officer, month):
    client.force_login(officer)

    assert f"{client.get(CALENDAR, {'month': month}).context['month'].first_on:%Y-%m}" == month
