"""The schedule names tasks that exist, and leaves no heap behind a stopped worker."""

import pytest
from celery.schedules import crontab

from portal.celery import BEAT_SCHEDULE, HARD_LIMIT_S, REDELIVERY_S, app


@pytest.fixture(scope="module")
def tasks():
    app.loader.import_default_modules()
    return app.tasks


@pytest.mark.parametrize("name", BEAT_SCHEDULE)
def test_an_entry_names_a_task_that_exists(name, tasks):
    assert BEAT_SCHEDULE[name]["task"] in tasks


@pytest.mark.parametrize("name", [name for name in BEAT_SCHEDULE if "options" in BEAT_SCHEDULE[name]])
def test_a_frequent_entry_expires_before_its_next_run(name):
    schedule = BEAT_SCHEDULE[name]["schedule"]
    interval_s = 60 if len(schedule.minute) == 60 else 3600 if len(schedule.hour) == 24 else 24 * 3600

    assert isinstance(schedule, crontab)
    assert BEAT_SCHEDULE[name]["options"]["expires"] < interval_s


def test_a_message_is_given_again_only_after_its_task_has_been_ended():
    assert REDELIVERY_S > HARD_LIMIT_S


def test_a_task_is_acknowledged_after_its_work_so_that_a_lost_worker_loses_none():
    assert app.conf.task_acks_late
    assert app.conf.task_reject_on_worker_lost
