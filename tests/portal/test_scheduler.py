"""The scheduler stands a clock that is set back: tasks run on, though they ran last at a time to come."""

import datetime

import pytest
from celery import Celery
from celery.beat import PersistentScheduler
from celery.schedules import crontab

from portal.celery import app as portal_app
from portal.celery import configuration
from portal.scheduler import ClockScheduler

NOW = datetime.datetime(2026, 3, 18, 18, 0, 30, tzinfo=datetime.UTC)
HOUR, YEAR = datetime.timedelta(hours=1), datetime.timedelta(days=365)
SCHEDULE = {
    "each minute": {"task": "minute", "schedule": crontab()},
    "each hour": {"task": "hour", "schedule": crontab(minute=10)},
    "each night": {"task": "night", "schedule": crontab(hour=4, minute=35)},
}


def _scheduler(kind, folder):
    """A scheduler of a kind, which notes what it would send."""

    class Noting(kind):
        sent: list[str]

        def apply_entry(self, entry, producer=None):
            self.sent.append(entry.task)

    app = Celery("clocks", broker="memory://", set_as_current=False)
    app.conf.update(beat_schedule=SCHEDULE, timezone="America/Chicago")
    scheduler = Noting(app, schedule_filename=str(folder / "schedule"), Producer=lambda *_, **__: None)
    scheduler.sent = []
    return scheduler


def _run(scheduler, time_machine, since, hours):
    """Let it run, minute by minute, as its service does."""
    for minute in range(60 * hours):
        time_machine.move_to(since + datetime.timedelta(minutes=minute), tick=False)
        while scheduler.tick() == 0:
            pass
    sent, scheduler.sent = scheduler.sent, []
    return {task: sent.count(task) for task in ("minute", "hour", "night")}


@pytest.mark.parametrize("back", [HOUR, YEAR])
def test_all_runs_on_after_the_clock_was_set_back(tmp_path, time_machine, back):
    time_machine.move_to(NOW + back, tick=False)
    scheduler = _scheduler(ClockScheduler, tmp_path)
    _run(scheduler, time_machine, NOW + back, 2)

    ran = _run(scheduler, time_machine, NOW, 24)

    # What ran last in the future runs once more at once.
    assert ran["minute"] in (24 * 60, 24 * 60 + 1)
    assert ran["hour"] in (24, 25)
    assert ran["night"] in (1, 2)


def test_it_is_needed_celerys_own_waits_for_the_old_time(tmp_path, time_machine):
    time_machine.move_to(NOW + YEAR, tick=False)
    scheduler = _scheduler(PersistentScheduler, tmp_path)
    _run(scheduler, time_machine, NOW + YEAR, 1)

    assert _run(scheduler, time_machine, NOW, 2) == {"minute": 0, "hour": 0, "night": 0}


def test_what_it_remembers_from_a_clock_ahead_keeps_nothing_after_a_restart(tmp_path, time_machine):
    time_machine.move_to(NOW + YEAR, tick=False)
    scheduler = _scheduler(ClockScheduler, tmp_path)
    _run(scheduler, time_machine, NOW + YEAR, 1)
    scheduler.close()
    time_machine.move_to(NOW, tick=False)

    ran = _run(_scheduler(ClockScheduler, tmp_path), time_machine, NOW, 2)

    assert ran["minute"] >= 2 * 60
    assert ran["hour"] >= 2


def test_a_clock_set_forward_makes_up_for_what_it_left_out_once(tmp_path, time_machine):
    time_machine.move_to(NOW, tick=False)
    scheduler = _scheduler(ClockScheduler, tmp_path)
    _run(scheduler, time_machine, NOW, 1)

    ran = _run(scheduler, time_machine, NOW + YEAR, 1)

    assert (ran["hour"], ran["night"]) == (2, 1)


def test_the_portal_uses_it():
    assert configuration()["beat_scheduler"] == "portal.scheduler:ClockScheduler"
    assert portal_app.conf.beat_scheduler == "portal.scheduler:ClockScheduler"
