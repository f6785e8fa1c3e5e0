"""What time alone changes is found by the sweep, by the date at each site, and once."""

import datetime
import zoneinfo

import pytest

from compliance.models import Reminder, TaskRun
from compliance.selectors import staleness
from compliance.selectors.staleness import stale_appliances
from compliance.tasks import assess_appliances, sweep_assessments
from jobs.models import Appliance, ServiceEvent
from jobs.services.appliances import appliance_change
from jobs.services.customers import site_change
from portal.celery import app
from tests.compliance.firm import add_appliance, add_customer, add_site, day, noon, over_the_threshold

pytestmark = pytest.mark.django_db

HOUR = datetime.timedelta(hours=1)


@pytest.fixture(autouse=True)
def _run_tasks_at_once():
    app.conf.task_always_eager = True
    yield
    app.conf.task_always_eager = False


def _at(zone, *moment):
    return datetime.datetime(*moment, tzinfo=zoneinfo.ZoneInfo(zone))


def _status(appliance):
    return appliance.obligations.get(kind="repair").status


def test_a_clock_runs_out_at_midnight_of_the_site(admin, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")

    time_machine.move_to(_at("America/Chicago", 2026, 4, 1, 23, 59))
    sweep_assessments()
    assert _status(chiller) == "open"
    time_machine.move_to(_at("America/Chicago", 2026, 4, 2, 0, 1))
    sweep_assessments()
    assert _status(chiller) == "overdue"


def test_sites_in_other_zones_have_another_date(admin, time_machine):
    customer = add_customer(admin)
    honolulu = add_site(admin, customer, "Harbour", time_zone="Pacific/Honolulu")
    auckland = add_site(admin, customer, "Quay", time_zone="Pacific/Auckland")
    west, east = add_appliance(admin, site=honolulu), add_appliance(admin, site=auckland)
    for appliance in (west, east):
        over_the_threshold(admin, appliance, "2026-03-02")

    time_machine.move_to(_at("UTC", 2026, 4, 1, 12, 0))
    sweep_assessments()

    # 01:00 on 2 April in Auckland (daylight time, UTC+13), 02:00 on 1 April in Honolulu.
    assert (_status(west), _status(east)) == ("open", "overdue")


@pytest.mark.parametrize(
    ("zone", "night", "due_on"),
    [
        # Clocks go forward in the night to 8 March 2026 and back in the night to 1 November 2026.
        ("America/Chicago", (2026, 3, 8), "2026-03-07"),
        ("America/Chicago", (2026, 11, 1), "2026-10-31"),
    ],
)
def test_the_nights_when_clocks_change_are_nights_like_others(
    admin, chiller, time_machine, zone, night, due_on
):
    started_on = day(due_on) - datetime.timedelta(days=30)
    over_the_threshold(admin, chiller, started_on.isoformat())
    midnight = _at(zone, *night)

    time_machine.move_to(midnight - datetime.timedelta(minutes=1))
    sweep_assessments()
    assert _status(chiller) == "open"
    time_machine.move_to(midnight + datetime.timedelta(minutes=1))
    sweep_assessments()
    assert _status(chiller) == "overdue"


def test_what_was_assessed_today_is_left_alone(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")

    assert list(stale_appliances(noon(day("2026-03-02")))) == []
    assert list(stale_appliances(noon(day("2026-03-03")))) == [chiller]


def test_an_appliance_without_records_is_assessed_too(chiller):
    assert list(stale_appliances(noon(day("2026-03-02")))) == [chiller]


def test_a_change_of_the_registers_asks_for_a_new_assessment(admin, chiller):
    def is_stale():
        return stale_appliances(datetime.datetime.now(datetime.UTC)).exists()

    assess_appliances([chiller.pk])
    assert not is_stale()
    appliance_change(by=admin, appliance=chiller, category="commercial_refrigeration")
    assert is_stale()
    assess_appliances([chiller.pk])
    assert not is_stale()
    site_change(by=admin, site=chiller.site, leak_rate_method="rolling_average")
    assert is_stale()


@pytest.mark.parametrize("version", ["RULEBOOK_VERSION", "load_tables"])
def test_a_change_of_the_law_asks_for_new_assessments(admin, chiller, monkeypatch, version):
    over_the_threshold(admin, chiller, "2026-03-02")
    tables = type("Tables", (), {"version": "newer"})
    monkeypatch.setattr(staleness, version, "newer" if version == "RULEBOOK_VERSION" else lambda: tables)

    assert list(stale_appliances(noon(day("2026-03-02")))) == [chiller]


def test_a_sweep_that_was_cut_short_goes_on_where_it_stopped(admin, time_machine):
    appliances = [add_appliance(admin, f"Chiller {number}") for number in range(3)]
    time_machine.move_to(noon(day("2026-04-02")))
    assess_appliances([appliances[0].pk])

    sweep_assessments()

    assert TaskRun.objects.get(name="compliance.tasks.sweep_assessments").outcome == "2 appliances to assess"
    assert list(stale_appliances(noon(day("2026-04-02")))) == []


def test_one_appliance_that_cant_be_assessed_keeps_no_other_from_its_clock(admin, time_machine):
    broken, sound = add_appliance(admin, "Chiller 1"), add_appliance(admin, "Chiller 2")
    over_the_threshold(admin, sound, "2026-03-02")
    Appliance.objects.filter(pk=broken.pk).update(refrigerant="R-000")
    time_machine.move_to(noon(day("2026-04-02")))

    sweep_assessments()

    run = TaskRun.objects.get(name="compliance.tasks.assess_appliances")
    assert _status(sound) == "overdue"
    assert run.has_failed
    assert f"Chiller 1 (number {broken.pk})" in run.outcome


def test_a_sweep_raises_what_it_finds_to_be_reminded_of(admin, officer, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")
    time_machine.move_to(noon(day("2026-04-02")))

    sweep_assessments()

    assert set(Reminder.objects.values_list("milestone", flat=True)) == {"1 day overdue"}


def test_the_run_is_noted(admin, chiller, time_machine):
    time_machine.move_to(noon(day("2026-04-02")), tick=False)

    sweep_assessments()

    run = TaskRun.objects.get(name="compliance.tasks.sweep_assessments")
    assert run.started_at == run.finished_at == noon(day("2026-04-02"))
    assert (run.outcome, run.has_failed) == ("1 appliances to assess", False)


def test_records_are_never_touched(admin, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")
    before = list(ServiceEvent.objects.values())
    time_machine.move_to(noon(day("2026-04-02")))

    sweep_assessments()

    assert list(ServiceEvent.objects.values()) == before
