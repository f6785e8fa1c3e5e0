"""One instant has another date at each site: board, calendar, feed and reminders all count by the site's own.

Offsets and the days on which clocks change are those of the IANA time zone database, recalled from memory.
"""

import datetime
import zoneinfo
from collections import defaultdict

import pytest

from compliance.models import Obligation, Reminder
from compliance.selectors.board import BoardFilter, board
from compliance.selectors.board_calendar import board_month
from compliance.selectors.owed import owed
from compliance.services.assessments import appliances_reassess
from compliance.services.reminders import reminders_raise
from tests.compliance.calendar_feeds.reading import events
from tests.compliance.firm import add_appliance, add_customer, add_site, day, file, over_the_threshold

pytestmark = pytest.mark.django_db

KIRITIMATI, PAGO_PAGO, CHICAGO = "Pacific/Kiritimati", "Pacific/Pago_Pago", "America/Chicago"
MINUTE = datetime.timedelta(minutes=1)
REPAIRS = BoardFilter(kind="repair")


def _utc(text):
    return datetime.datetime.fromisoformat(f"{text}+00:00")


def _appliance(admin, zone, **fields):
    site = add_site(admin, add_customer(admin), f"Site in {zone}", time_zone=zone, **fields)
    return add_appliance(admin, f"Chiller in {zone}", site=site)


@pytest.fixture
def around_the_date_line(admin):
    """Three appliances whose repair is due on 1 April 2026 at their sites, 30 days after 2 March (40 CFR 84.106(d))."""
    appliances = {zone: _appliance(admin, zone) for zone in (KIRITIMATI, PAGO_PAGO, CHICAGO)}
    for appliance in appliances.values():
        over_the_threshold(admin, appliance, "2026-03-02")
    assert set(Obligation.objects.filter(kind="repair").values_list("due_on", flat=True)) == {
        day("2026-04-01")
    }
    return appliances


# From 10:00 to 11:00 UTC it is the 2nd on Kiritimati (UTC+14), the 1st in Chicago (UTC-5) and still the 31st in Pago
# Pago (UTC-11): three dates at one instant.
AT_ONCE = _utc("2026-04-01T10:30")
LEFT = {KIRITIMATI: -1, CHICAGO: 0, PAGO_PAGO: 1}


def _zone(obligation):
    return obligation.appliance.site.time_zone


def test_each_is_overdue_due_today_or_due_tomorrow_by_its_own_date(around_the_date_line):
    rows = {_zone(row): row for row in board(REPAIRS, AT_ONCE)}

    assert {zone: (row.due_on - row.site_today).days for zone, row in rows.items()} == LEFT
    assert {zone: row.stands for zone, row in rows.items()} == {
        KIRITIMATI: "overdue",
        CHICAGO: "due_soon",
        PAGO_PAGO: "due_soon",
    }
    assert {zone: owed(row, AT_ONCE).when for zone, row in rows.items()} == {
        KIRITIMATI: "1 day overdue",
        CHICAGO: "due today",
        PAGO_PAGO: "due in 1 day",
    }


def test_the_month_shows_all_on_the_day_at_their_sites(around_the_date_line):
    month = board_month(REPAIRS, day("2026-04-01"), day("2026-04-01"), AT_ONCE)

    due = {
        one.on: {_zone(row): row.stands for row in one.obligations} for week in month.weeks for one in week
    }
    assert {on: stands for on, stands in due.items() if stands} == {
        day("2026-04-01"): {KIRITIMATI: "overdue", CHICAGO: "due_soon", PAGO_PAGO: "due_soon"}
    }


def test_the_feed_calls_overdue_what_is_at_its_site(around_the_date_line, officer, time_machine):
    time_machine.move_to(AT_ONCE, tick=False)

    repairs = [row for row in events(officer) if row.categories.value[0] == "Leak repair"]
    assert {row.dtstart.value for row in repairs} == {day("2026-04-01")}
    overdue = [row.summary.value for row in repairs if row.summary.value.startswith("Overdue: ")]
    assert len(repairs) == 3
    (only,) = overdue
    assert KIRITIMATI in only


def test_each_is_reminded_of_by_the_milestone_of_its_own_date(around_the_date_line, officer):
    reminders_raise(now=AT_ONCE)

    rows = Reminder.objects.filter(channel="portal", owed_key__contains=":repair:")
    milestones = {
        row.appliance.site.time_zone: row.milestone for row in rows.select_related("appliance__site")
    }
    assert milestones == {KIRITIMATI: "1 day overdue", CHICAGO: "on the day", PAGO_PAGO: "1 day before"}


def test_all_milestones_come_once_on_either_side_of_the_date_line(around_the_date_line, officer):
    """Hour by hour over the days around, and each at the first hour of its date."""
    raised = defaultdict(list)
    start = _utc("2026-03-30T00:05")
    for hour in range(24 * 5):
        reminders_raise(now=start + datetime.timedelta(hours=hour))
    rows = Reminder.objects.filter(channel="portal", is_escalation=False, owed_key__contains=":repair:")
    for row in rows.select_related("appliance__site"):
        zone = row.appliance.site.zone
        raised[zone.key].append((row.milestone, row.raised_at.astimezone(zone).strftime("%m-%d %H")))

    for zone in (KIRITIMATI, PAGO_PAGO):
        assert {*raised[zone]} >= {("1 day before", "03-31 00"), ("on the day", "04-01 00")}
        assert ("1 day overdue", "04-02 00") in raised[zone]
        assert len(raised[zone]) == len({milestone for milestone, _ in raised[zone]})


@pytest.mark.parametrize(
    ("zone", "due_on", "over_at"),
    [
        # The day has 23 hours, and ends at 5:00 UTC instead of 6:00.
        (CHICAGO, "2026-03-08", "2026-03-09T05:00"),
        # The day has 25 hours, and ends at 6:00 UTC instead of 5:00.
        (CHICAGO, "2026-11-01", "2026-11-02T06:00"),
        ("Europe/Berlin", "2026-03-29", "2026-03-29T22:00"),
        ("Europe/Berlin", "2026-10-25", "2026-10-25T23:00"),
        # By half an hour.
        ("Australia/Lord_Howe", "2026-04-05", "2026-04-05T13:30"),
        ("Australia/Lord_Howe", "2026-10-04", "2026-10-04T13:00"),
        # Clocks go forward at midnight: the day after begins at 1:00.
        ("America/Santiago", "2026-09-05", "2026-09-06T04:00"),
        # Clocks go back at midnight: 23:00 comes twice, and the day isn't over after the first.
        ("America/Santiago", "2026-04-04", "2026-04-05T04:00"),
        # The leap day, at both edges.
        (KIRITIMATI, "2028-02-29", "2028-02-29T10:00"),
        (PAGO_PAGO, "2028-02-29", "2028-03-01T11:00"),
    ],
)
def test_a_day_is_over_at_midnight_of_its_site_however_long_it_was(
    admin, officer, time_machine, zone, due_on, over_at
):
    assert _utc(over_at).astimezone(zoneinfo.ZoneInfo(zone)).date() == day(due_on) + datetime.timedelta(
        days=1
    )
    started_on = day(due_on) - datetime.timedelta(days=30)
    appliance = _appliance(admin, zone)
    over_the_threshold(admin, appliance, started_on.isoformat())

    for at, days_left in ((_utc(over_at) - MINUTE, 0), (_utc(over_at), -1)):
        time_machine.move_to(at, tick=False)
        row = board(REPAIRS, at).get()
        appliances_reassess(appliance_ids=[appliance.pk], now=at)
        reminders_raise(now=at)

        is_over = days_left < 0
        assert (row.due_on, (row.due_on - row.site_today).days) == (day(due_on), days_left)
        assert (row.stands == "overdue") is is_over
        assert (appliance.obligations.get(kind="repair").status == "overdue") is is_over
        (found,) = [found for found in events(officer) if found.categories.value[0] == "Leak repair"]
        assert found.dtstart.value == day(due_on)
        assert found.summary.value.startswith("Overdue: ") is is_over
        milestone = "1 day overdue" if is_over else "on the day"
        portal = Reminder.objects.filter(channel="portal", owed_key__contains=":repair:", milestone=milestone)
        assert portal.count() == 1


# --- Years that begin on a leap day ----------------------------------------------------------


def test_a_yearly_check_from_a_leap_day_on_is_owed_each_february(admin, officer, time_machine):
    """Regulation (EU) 2024/573 Art. 5(6): every 12 months from 5 t of CO2 equivalent up; from memory."""
    site = add_site(
        admin, add_customer(admin), "Harbour", time_zone="Europe/Berlin", jurisdiction="eu", country="DE"
    )
    # 20 lb of R-410A are 19 t of CO2 equivalent: between 5 t and 50 t.
    appliance = add_appliance(admin, site=site, charge_lb="20")
    for on, due_on in (
        ("2028-02-29", "2029-02-28"),
        ("2029-02-28", "2030-02-28"),
        ("2032-02-29", "2033-02-28"),
    ):
        file(admin, appliance, on, inspected=True)

        check = appliance.obligations.get(kind="leak_check", status__in=("open", "overdue"))
        assert str(check.due_on) == due_on
        eve = _utc(f"{due_on}T10:00")
        time_machine.move_to(eve, tick=False)
        month = board_month(BoardFilter(), check.due_on, check.due_on, eve)
        shown = [one.on for week in month.weeks for one in week if one.obligations]
        assert check.due_on in shown
        assert str(check.due_on) in [str(found.dtstart.value) for found in events(officer)]
