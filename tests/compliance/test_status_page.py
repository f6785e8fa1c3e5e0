"""The status page: whether the portal does its work, for whoever answers for it."""

import datetime

import pytest

from compliance.models import AssessmentSweep, Reminder, SweepChunk, TaskRun
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.system_status import system_status
from compliance.selectors.task_runs import next_run, sweep_watch
from compliance.services.reminders import reminders_raise
from portal.celery import app
from tests.compliance.firm import add_appliance, day, noon, over_the_threshold

pytestmark = pytest.mark.django_db

NOW = datetime.datetime(2026, 3, 18, 18, 0, 30, tzinfo=datetime.UTC)
MINUTE = datetime.timedelta(minutes=1)
STATUS = "/status/"


def _task(name, now=NOW):
    tasks = {task.title: task for task in system_status(now).tasks}
    return tasks[name]


def _ran(name, minutes_ago, **fields):
    started_at = NOW - minutes_ago * MINUTE
    return TaskRun.objects.create(
        name=f"compliance.tasks.{name}", started_at=started_at, finished_at=started_at, **fields
    )


def test_every_entry_of_the_schedule_is_there():
    assert {task.title for task in system_status(NOW).tasks} == {
        title.capitalize() for title in app.conf.beat_schedule
    }


def test_a_task_that_never_ran_is_late():
    assert _task("Send reminders").is_late


@pytest.mark.parametrize(("minutes_ago", "is_late"), [(1, False), (3, False), (6, True), (600, True)])
def test_a_task_is_late_when_its_next_run_has_not_begun(minutes_ago, is_late):
    _ran("send_reminders", minutes_ago)

    assert _task("Send reminders").is_late is is_late


def test_the_next_run_follows_from_the_schedule():
    raising = app.conf.beat_schedule["raise reminders"]["schedule"]

    assert next_run(raising, NOW) == datetime.datetime(2026, 3, 18, 18, 5, tzinfo=datetime.UTC)
    assert _task("Raise reminders").next_at == datetime.datetime(2026, 3, 18, 18, 5, tzinfo=datetime.UTC)


def test_a_run_outside_the_schedule_is_shown_too(client, officer, time_machine):
    time_machine.move_to(NOW)
    _ran("assess_appliances", 5, has_failed=True, outcome="0 assessed; Rack A: no such refrigerant")
    client.force_login(officer)

    text = client.get(STATUS).text

    assert "Assess appliances" in text
    assert "Rack A: no such refrigerant" in text


def _sweep(minutes_ago, **fields):
    return AssessmentSweep.objects.create(started_at=NOW - minutes_ago * MINUTE, stale_count=3, **fields)


@pytest.mark.parametrize(("minute", "is_late"), [(9, False), (13, False), (14, True)])
def test_a_sweep_is_late_when_the_next_one_was_due(minute, is_late):
    """It runs at ten past each hour, and three minutes are granted."""
    _ran("sweep_assessments", 50)

    assert sweep_watch(NOW.replace(minute=minute, second=0)).is_late is is_late


def test_a_sweep_that_doesnt_end_is_late_though_the_task_runs():
    _ran("sweep_assessments", 0)
    sweep = _sweep(120)
    assert sweep_watch(NOW).is_stuck

    sweep.finished_at = NOW
    sweep.save()
    assert not sweep_watch(NOW).is_late


@pytest.mark.parametrize("page", [STATUS, "/board/"])
def test_a_late_sweep_alarms_whoever_answers_for_it(
    client, admin, officer, technician_user, time_machine, page
):
    time_machine.move_to(NOW)
    alarm = "The hourly assessment is late."
    for user, is_told in ((officer, True), (admin, True), (technician_user, False)):
        client.force_login(user)
        assert (alarm in client.get(page).text) is is_told

    _ran("sweep_assessments", 20)
    client.force_login(officer)
    assert alarm not in client.get(page).text


def test_what_a_sweep_couldnt_assess_is_shown(client, officer, time_machine):
    time_machine.move_to(NOW)
    _ran("sweep_assessments", 20)
    sweep = _sweep(20, finished_at=NOW)
    ids = {"first_appliance_id": 1, "last_appliance_id": 3, "total_count": 3}
    SweepChunk.objects.create(sweep=sweep, done_count=2, state="failed", failure="Rack A: unheard of", **ids)
    client.force_login(officer)

    text = client.get(STATUS).text

    assert "Appliances 1 to 3: Rack A: unheard of" in text
    assert "2 of 3, whose answers could have changed" in text
    assert "1 part of the hourly assessment failed." in client.get("/board/").text


def test_what_waits_is_counted(admin, officer, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    reminders_raise(now=noon(day("2026-03-18")))
    Reminder.objects.filter(channel="email", owed_key__contains=":repair:").update(state="failed")

    add_appliance(admin, "Never assessed")

    status = system_status(NOW)

    assert (status.stale_count, status.waiting_count, status.failed_count) == (1, 1, 1)


def test_the_page_names_versions_and_parts(client, officer):
    client.force_login(officer)

    text = client.get(STATUS).text

    for words in (RULEBOOK_VERSION, "folder of files on this machine, answers", "none leaves this machine"):
        assert words in text


def test_a_broker_that_doesnt_answer_is_said(client, officer, settings):
    client.force_login(officer)
    broken = app.connection_for_write

    def fail():
        raise ConnectionRefusedError(111, "Connection refused")

    app.connection_for_write = fail
    try:
        text = client.get(STATUS).text
    finally:
        app.connection_for_write = broken

    assert "The message broker doesn’t answer." in text
    assert "ConnectionRefusedError" in text


def test_it_is_not_for_everybody(client, technician_user, stranger):
    for user in (technician_user, stranger):
        client.force_login(user)

        assert client.get(STATUS).status_code == 403
